"""A service of one slow calculator, to be killed: python -m ...served STORE WORKERS."""

import sys
import time
from typing import ClassVar

from baywright_service.contract import (
    Calculator,
    Example,
    Inputs,
    InputSchema,
    Num,
    Result,
    ResultSchema,
    Source,
    Whole,
)
from baywright_service.registry import registry_of
from baywright_service.server import serve
from baywright_service.settings import Settings


class SquareInputs(InputSchema):
    """A number."""

    number = Whole(required=True, minimum=0, maximum=10**6)


class SquareResult(ResultSchema):
    """Its square."""

    square = Num("1", required=True)


class Square(Calculator):
    """Takes its time to square a number."""

    name: ClassVar[str] = "square"
    version = "1.0.0"
    title = "Square"
    summary = "Squares a number, slowly."
    inputs_schema: ClassVar[type[InputSchema]] = SquareInputs
    result_schema = SquareResult
    examples = (Example("Three", {"number": 3}),)
    sources = (Source("Multiplication"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """A hundredth of a second."""
        time.sleep(0.01)
        return Result({"square": inputs["number"] ** 2})


def main() -> None:
    """Serve until killed."""
    store, workers = sys.argv[1:]
    serve(Settings(port=0, store=store, workers=int(workers)), registry_of(Square))


if __name__ == "__main__":
    from tests.service.batches.served import main as importable_main

    importable_main()
