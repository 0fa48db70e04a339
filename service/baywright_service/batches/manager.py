"""The batches of one service: their store, and what runs them."""

from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from ..documents import Library
from ..execution import Executor, InThisProcess
from ..registry import Registry
from ..settings import Settings
from .database import MEMORY, beside
from .model import Base, Batch, Variant
from .runner import Runner
from .shelf import Gathered
from .store import BatchStore
from .work import Order


class Batches:
    """Costs nothing until it is asked for. Every method may raise StorageUnavailable."""

    def __init__(
        self, settings: Settings, registry: Registry, documents: Library, executor: Executor
    ) -> None:
        self._settings, self._registry = settings, registry
        self._documents, self._executor = documents, executor

    @cached_property
    def store(self) -> BatchStore:
        """Where batches are read."""
        return BatchStore(beside(self._settings.store, "batches"), self._settings.batch_days)

    @cached_property
    def runner(self) -> Runner:
        """What runs them."""
        return Runner(
            self.store,
            self._order_of,
            self._registry.calculators,
            self._executor,
            self._settings.calculation_limit_s,
            in_worker=self._in_worker,
        )

    def create(
        self,
        request: Mapping[str, Any],
        base: Base,
        variants: Iterable[Variant],
        *,
        title: str = "",
        key: str = "",
        fingerprint: str = "",
    ) -> tuple[Batch, bool]:
        """A batch on disk and soon running (`BatchStore.create`), the stored documents that it
        names kept with it."""
        gathered = Gathered(self._documents, base.body)
        made = self.store.create(
            request,
            base,
            gathered.of(variants),
            title=title,
            key=key,
            fingerprint=fingerprint,
            documents=lambda: gathered.entries,
        )
        self.runner.wake()
        return made

    def resume(self) -> None:
        """Go on with what an earlier process has left."""
        if self.store.database.path != MEMORY and Path(self.store.database.path).exists():
            self.runner.wake()

    def cancel(self, id: str) -> Batch | None:
        """End it: what has not ended is dismissed, what runs is ended too."""
        batch = self.store.cancel(id)
        self.runner.dropped(id)
        return batch

    def delete(self, id: str) -> bool:
        """Whether it was there; it is gone then, and what runs of it is ended."""
        there = self.store.delete(id)
        self.runner.dropped(id)
        return there

    def wait_for_change(self, seen: Batch, timeout_s: float) -> Batch | None:
        """The batch as soon as it is not as it was seen, or when the time has passed."""
        self.runner.wake()
        return self.runner.wait_for_change(seen, timeout_s)

    def close(self) -> None:
        """Stop; what runs is run again after the next start."""
        if "runner" in self.__dict__:
            self.runner.close()
        if "store" in self.__dict__:
            self.store.close()

    @property
    def _in_worker(self) -> bool:
        return not isinstance(self._executor, InThisProcess)

    def _order_of(self, id: str) -> Order | None:
        base = self.store.base(id)
        if base is None:
            return None
        return Order(
            base,
            self._settings.calculation_limit_s,
            self._in_worker,
            beside(self._settings.store, "computed"),
            self._settings.remembered_mib,
        )
