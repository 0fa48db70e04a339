"""In the API document: paper, and reports of whole plans."""

from collections.abc import Iterator, Sequence
from typing import Any

from .openapi_shapes import (
    BODY,
    ID,
    STORE,
    TEXT,
    Json,
    json_content,
    path_parameter,
    problem_responses,
    reads,
)
from .report.schemas import FORMS, StorySchema
from .representations import HTML, MEDIA_TYPES, PDF
from .writers.pdf import PAPERS, SCALES

#: A report as a page, and on paper.
REPORT: Json = {MEDIA_TYPES[HTML]: {"schema": TEXT}, MEDIA_TYPES[PDF]: {"schema": {}}}


def paper_parameters() -> Iterator[Json]:
    """What a request may say of the paper that a PDF is for."""
    papers = {"type": "string", "enum": list(PAPERS), "default": next(iter(PAPERS))}
    scales = {"type": "string", "enum": list(SCALES), "default": SCALES[0]}
    yield {"name": "paper", "in": "query", "description": "Of a PDF", "schema": papers}
    about = "As large as it goes, or the next smaller scale of ISO 5455 where it is true to scale"
    yield {"name": "scale", "in": "query", "description": about, "schema": scales}


def report_parameters(forms: Sequence[str]) -> list[Json]:
    """What a request may say of the form of its answer."""
    return [{"name": "format", "in": "query", "schema": {"type": "string", "enum": list(forms)}}]


def report_paths(converter: Any) -> Iterator[tuple[str, Json]]:
    """A story of several plans, and the report of a stored one."""
    form = report_parameters(FORMS)
    story = converter.resolve_nested_schema(StorySchema)
    yield (
        "/v1/reports",
        {
            "post": {
                "operationId": "report-story",
                "summary": "Several plans in one report, their verdicts side by side",
                "parameters": form,
                "requestBody": {"required": True, **json_content(story)},
                "responses": {
                    "200": {"description": "The report.", "content": REPORT},
                    **problem_responses(*BODY, *STORE),
                },
            }
        },
    )
    stored = reads(
        "plan-report", "The report of a stored plan", {"content": REPORT}, 404, 422, *STORE
    )
    stored["responses"]["304"] = {"description": "Not changed since that ETag."}
    stored["parameters"] = form
    yield "/v1/plans/{id}/report", {"parameters": [path_parameter("id", ID)], "get": stored}
