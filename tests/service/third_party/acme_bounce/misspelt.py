"""A plug-in that asks the contract for something it does not have."""

from baywright_service.contract import Calculato  # type: ignore[attr-defined]  # noqa: F401
