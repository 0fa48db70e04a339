"""What a structure takes and gives in bulk: envelopes of all load cases, many variants."""

from typing import Any

from marshmallow import ValidationError

from baywright_service.contract import Column, Fault, InputSchema, Num, ResultSchema, Whole

MOST_VARIANTS = 5_000
MOST_NUMBERS = 2_000_000


class Rows(Column):
    """A list of rows of numbers, all of one length, as an array (rows, length)."""

    def __init__(self, unit: str, **options: Any) -> None:
        super().__init__(unit, fewest=1, most=MOST_VARIANTS, **options)
        self._flat_column = Column(
            unit, minimum=self.minimum, maximum=self.maximum, most=MOST_NUMBERS
        )

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise ValidationError([Fault("wrong-type", "Must be a list of rows.")])
        if not self.fewest <= len(value) <= self.most:
            code = "too-many" if len(value) > self.most else "out-of-range"
            raise ValidationError([Fault(code, f"Must hold {self.fewest} to {self.most} rows.")])
        length = len(value[0]) if isinstance(value[0], list) else 0
        for place, row in enumerate(value):
            if not isinstance(row, list) or len(row) != length or not row:
                detail = "Must be a row of numbers, as many as in the first row."
                raise ValidationError({place: [Fault("wrong-type", detail)]})
        try:
            flat = self._flat_column.deserialize([number for row in value for number in row])
        except ValidationError as error:
            raise ValidationError(_by_row(error.messages, length)) from None
        return flat.reshape(len(value), length)

    def describe(self) -> dict[str, Any]:
        shape = super().describe()
        row = {"type": "array", "items": shape["items"], "minItems": 1, "maxItems": MOST_NUMBERS}
        return {**shape, "items": row}


def _by_row(messages: Any, length: int) -> Any:
    if not isinstance(messages, dict):
        return messages
    rows: dict[int, Any] = {}
    for place, faults in messages.items():
        rows.setdefault(place // length, {})[place % length] = faults
    return rows


class VariantsSchema(InputSchema):
    """The same bars between the same nodes with other stiffnesses, or under other loads."""

    axial_stiffness_n = Rows(
        "N", minimum=1e-9, maximum=1e15, title="E A of each member, one row a variant"
    )
    load_factor = Rows(
        "1", minimum=-1e6, maximum=1e6,
        title="Factor on each load case, one row a variant",
        about="Left out: each load case as it is.",
    )  # fmt: skip


class VariantsResultSchema(ResultSchema):
    """The worst of each variant over its members and load cases, order of variants."""

    utilisation_max = Column("1", title="Largest share of capacity used")
    governing_member = Column("1", whole=True, title="Member that uses it")
    governing_case = Column("1", whole=True, title="Load case in which, counted from 0")
    first_slip_factor = Column("1", title="Load multiplier at first slip; left out if unloaded")
    force_max_n = Column("N", title="Largest force of a member, whichever way")
    displacement_max_mm = Column("mm", title="Largest movement of a node")
    residual_ratio = Column("1", title="Force left over at a node, share of the largest load")


class EnvelopeSchema(ResultSchema):
    """Each member over all load cases."""

    force_max_n = Column("N", title="Largest force, tension positive")
    force_min_n = Column("N", title="Smallest force")
    utilisation_ratio = Column("1", title="Largest share of its capacity")
    governing_case = Column("1", whole=True, title="Load case in which, counted from 0")
    utilisation_max = Num("1", title="Largest share of capacity used by any member")
    governing_member = Whole(title="Member that uses it")
    displacement_max_mm = Num("mm", title="Largest movement of a node in any case")
    residual_ratio = Num("1", title="Force left over at a node, share of the largest load")
