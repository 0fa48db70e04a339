"""A batch on a dask cluster of this machine, one of whose workers is killed in the middle."""

import time

import pytest

from baywright_service.batches.model import Base, Variant
from baywright_service.registry import registry_of
from baywright_service.settings import SettingsError
from tests.service.batches.conftest import Serve
from tests.service.batches.served import Square
from tests.service.execution.test_cluster import Machines, machines, until

pytest.importorskip("distributed", reason="the extra `cluster` is not installed")

__all__ = ["machines"]

COUNT = 600


@pytest.mark.slow
def test_it_completes_with_every_variant_once(machines: Machines, serve: Serve) -> None:
    host = until(lambda: serve(registry_of(Square), cluster=machines.address), SettingsError)
    until(lambda: 1 / (host.executor.parallel == 2), ZeroDivisionError)
    variants = (Variant({"set": {"/number": k}}) for k in range(COUNT))
    base = Base({"number": 0}, "square", ("/result/square",))
    batch, _ = host.batches.create({}, base, variants)
    while (now := host.batches.store.get(batch.id)) and now.successful < COUNT / 10:
        host.batches.wait_for_change(now, 1.0)
    assert now is not None and not now.ended
    machines.workers[0].kill()
    end = time.monotonic() + 120.0
    while not now.ended and time.monotonic() < end:
        now = host.batches.wait_for_change(now, 1.0) or now
    items = host.batches.store.items(batch.id, -1, 2 * COUNT)
    assert (now.status, now.successful, len(items)) == ("successful", COUNT, COUNT)
    assert [item.kept for item in items] == [{"/result/square": k**2} for k in range(COUNT)]
