"""Stores on disk, and a service of tiny calculators that runs batches."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from baywright_service.app import create_app
from baywright_service.batches.manager import Batches
from baywright_service.batches.model import Batch
from baywright_service.batches.store import BatchStore
from baywright_service.host import Host
from baywright_service.registry import Registry
from baywright_service.settings import Settings
from tests.service.fakes import fakes

Serve = Callable[..., Host]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[BatchStore]:
    """An empty store on disk."""
    store = BatchStore(str(tmp_path / "batches.sqlite3"))
    yield store
    store.close()


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Serve]:
    """A function that makes the parts of a service; all of one test share a store."""
    hosts: list[Host] = []

    def make(registry: Registry | None = None, **options: Any) -> Host:
        path = str(tmp_path / "documents.sqlite3")
        settings = Settings(**{"store": path, "calculation_limit_s": 5.0, **options})
        host: Host = create_app(settings, registry or fakes()).extensions["baywright"]
        hosts.append(host)
        return host

    yield make
    for host in hosts:
        host.close()


@pytest.fixture
def ended() -> Callable[[Batches, Batch], Batch]:
    """A function that waits for the end of a batch, 20 s at most."""

    def wait(batches: Batches, batch: Batch) -> Batch:
        end = time.monotonic() + 20.0
        while not batch.ended and time.monotonic() < end:
            found = batches.wait_for_change(batch, 1.0)
            assert found is not None
            batch = found
        assert batch.ended, batch
        return batch

    return wait
