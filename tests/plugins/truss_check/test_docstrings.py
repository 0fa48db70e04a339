"""What docstrings show is true, and formulas say where they come from and what they leave out."""

import doctest
import inspect

import pytest

from baywright_plugins.truss_check import (
    eigen,
    findings,
    first_slip,
    handling,
    limit,
    many,
    mend,
    numerals,
    orientation,
    stability,
)


@pytest.mark.parametrize(
    "module", [findings, first_slip, numerals, orientation], ids=lambda m: m.__name__
)
def test_examples_in_docstrings(module: object) -> None:
    outcome = doctest.testmod(module)  # type: ignore[arg-type]
    assert outcome.attempted > 0 and outcome.failed == 0


@pytest.mark.parametrize(
    "function",
    [
        eigen.frame_buckling,
        eigen.natural_frequencies,
        first_slip.first_slip,
        handling.handling_cases,
        limit.collapse,
        many.solve_variants,
        mend.culprits,
        mend.second_diagonals,
        orientation.worst_orientation,
        stability.stability,
    ],
    ids=lambda f: f.__name__,
)
def test_models_name_source_and_limits(function: object) -> None:
    words = inspect.getdoc(function) or ""
    assert "Source:" in words and "Leaves out:" in words
