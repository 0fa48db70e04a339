"""Spans asked for: records and findings."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import CannotCalculate, Finding, Remedy

from .closing_rows import TooManyWays, closing_rows, longest_row
from .context import TOO_MANY, Context, Value
from .findings import row_findings
from .records import rows_record


def span_answers(context: Context) -> tuple[list[Value], list[Finding]]:
    """One record for each span, in order."""
    records, findings = [], []
    for place, span in enumerate(context.inputs["spans"]):
        most = span.get("most_rods", context.inputs["most_rods"])
        rods, limits = _at_hand(context, span, place, most)
        record = _record(context, span, place, rods, limits, most)
        records.append(record)
        findings += row_findings(
            span["title"] or f"Span {span['id']}",
            record,
            f"/spans/{place}",
            remedy=_remedy(context, record, place),
            short_of_stock=_would_close(context, span, place, rods, limits, record),
            within=span["aim"] == "stay-within",
        )
    return records, findings


def _record(
    context: Context,
    span: Mapping[str, Any],
    place: int,
    rods: Sequence[int],
    limits: Sequence[int],
    most_rods: int,
) -> Value:
    search = longest_row if span["aim"] == "stay-within" else closing_rows
    try:
        rows = search(
            [context.kit.rods[k].pitch_um for k in rods],
            round(span["wanted_mm"] * 1000),
            play_um=context.play_um,
            limits=limits,
            most_rods=most_rods,
            most_results=context.inputs["most_results"],
        )
    except TooManyWays as error:
        raise CannotCalculate(f"/spans/{place}/wanted_mm", TOO_MANY) from error
    head = {"id": span["id"], "wanted_mm": span["wanted_mm"], "aim": span["aim"]}
    return {**head, **rows_record(rows, context.rods(rods), context.play_um)}


def _at_hand(
    context: Context, span: Mapping[str, Any], place: int, most: int
) -> tuple[list[int], list[int]]:
    if "counts" in span:
        rods = [
            context.rod(row["rod"], f"/spans/{place}/counts/{k}/rod")
            for k, row in enumerate(span["counts"])
        ]
        return rods, [row["count"] for row in span["counts"]]
    rods = list(range(len(context.kit.rods)))
    return rods, [context.at_hand(k, most) for k in rods]


def _would_close(
    context: Context,
    span: Mapping[str, Any],
    place: int,
    rods: Sequence[int],
    limits: Sequence[int],
    record: Value,
) -> bool:
    """Whether a row would close if there were enough of each rod."""
    most = span.get("most_rods", context.inputs["most_rods"])
    if record["closes"] or min(limits) >= most:
        return False
    return bool(_record(context, span, place, rods, [most] * len(rods), most)["closes"])


def _remedy(context: Context, record: Value, place: int) -> Remedy | None:
    nearest = record.get("nearest")
    if record["closes"] or nearest is None or context.inputs.proving:
        return None
    spans = [dict(span) for span in context.inputs.raw["spans"]]
    spans[place]["wanted_mm"] = nearest["length_mm"]
    after = context.rerun({"spans": spans})
    if after is None or not after.value["spans"][place]["closes"]:
        return None
    return Remedy(f"Make it {nearest['length_mm']:g} mm.", {"spans": spans})
