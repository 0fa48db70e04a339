"""Examples in docstrings run and give what they print."""

import doctest
import importlib
import pkgutil

import pytest

import baywright_plugins.design_search as package

MODULES = [module.name for module in pkgutil.iter_modules(package.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    """Every example of a module of this calculator."""
    module = importlib.import_module(f"{package.__name__}.{name}")
    assert doctest.testmod(module).failed == 0
