"""Calculators that do what a stranger's may do by mistake."""

from typing import ClassVar

from baywright_service.contract import (
    Calculator,
    Choice,
    Example,
    Inputs,
    InputSchema,
    Num,
    Result,
    ResultSchema,
    Source,
)
from baywright_service.registry import Registry, registry_of
from tests.service.execution import jobs


class TroubleInputs(InputSchema):
    """What goes wrong."""

    how = Choice(
        *("none", "never-ends", "segfault", "memory", "exit", "print", "fault"), required=True
    )


class TroubleResult(ResultSchema):
    """One, where nothing does."""

    value = Num("1", required=True)


class Trouble(Calculator):
    """Does what it is told."""

    name: ClassVar[str] = "trouble"
    version = "1.0.0"
    title = "Trouble"
    summary = "Does what it is told."
    inputs_schema: ClassVar[type[InputSchema]] = TroubleInputs
    result_schema = TroubleResult
    examples = (Example("None", {"how": "none"}),)
    sources = (Source("Experience"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """One, or trouble."""
        match inputs["how"]:
            case "never-ends":
                jobs.never_ends_in_c()
            case "segfault":
                jobs.segfault()
            case "memory":
                jobs.floats(4000)
            case "exit":
                jobs.leaves()
            case "print":
                jobs.prints("words of a calculator")
            case "fault":
                raise ZeroDivisionError("secret of /home/somebody")
        return Result({"value": 1.0})


def troublemakers() -> Registry:
    """It alone."""
    return registry_of(Trouble)
