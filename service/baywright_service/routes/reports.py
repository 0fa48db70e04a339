"""Reports of whole plans: of a stored one by address, of several plans told one after the other."""

from collections.abc import Sequence
from typing import Any

from flask import Blueprint, Response, current_app
from flask.blueprints import BlueprintSetupState

from .. import plans
from ..contract import DocumentUse
from ..documents import Fetched
from ..envelope import document_json
from ..fields import flatten_faults
from ..host import host
from ..problems import PlanNotValid, count_of_faults, errors_from, invalid_input
from ..report.html import POLICY
from ..report.model import Report, Telling
from ..report.reports import Tellings, written
from ..report.schemas import FORMS, StorySchema
from ..representations import HTML, chosen_form, respond
from .reading import json_body, takes
from .stored_answers import asked_plan, unchanged

routes = Blueprint("reports", __name__, url_prefix="/v1")

_TELLINGS = "baywright-tellings"


@routes.record_once
def _remember(state: BlueprintSetupState) -> None:
    state.app.extensions[_TELLINGS] = Tellings()


@routes.post("/reports")
@takes("format")
def tell_story() -> Response:
    """Several plans in one report, with their verdicts side by side."""
    form = chosen_form(FORMS)
    loaded, faults = flatten_faults(StorySchema(), json_body())
    if faults:
        raise invalid_input(errors_from(faults))
    checked = [_checked(k, entry["plan"]) for k, entry in enumerate(loaded["plans"])]
    tellings = [
        tell(plan, used, entry["name"])
        for (plan, used), entry in zip(checked, loaded["plans"], strict=True)
    ]
    return report_response(tellings, form, loaded.get("title", ""), loaded.get("about", ""))


@routes.get("/plans/<document_id:id>/report")
@takes("format")
def report_of_stored(id: str) -> Response:
    """The report of a stored plan; asking again for what did not change costs nothing."""
    form = chosen_form(FORMS)
    asked = asked_plan(id)
    tag = asked.etag("report", form)
    found = unchanged(tag)
    if found is not None:
        return found
    use = DocumentUse("plan", asked.plan.id, asked.plan.revision)
    return report_response([tell(asked.checked, [use])], form, etag=tag)


def tell(checked: plans.Checked, used: Sequence[DocumentUse], name: str = "") -> Telling:
    """A checked plan, answered and put in words; `used` are the documents that it came from."""
    tellings: Tellings = current_app.extensions[_TELLINGS]
    return tellings.of(host(), checked, [document_json(use) for use in used], name)


def report_response(
    tellings: Sequence[Telling], form: str, title: str = "", about: str = "", etag: str = ""
) -> Response:
    """The report of some plans as an answer."""
    first = tellings[0]
    alone = first.about if len(tellings) == 1 else ""
    report = Report(title or first.title, about or alone, tellings)
    response = respond(written(host(), report, form), form, etag=etag)
    if form == HTML:
        response.headers["Content-Security-Policy"] = f"{POLICY}; frame-ancestors 'none'"
    response.headers["Content-Disposition"] = f'inline; filename="report.{form}"'
    return response


def _checked(index: int, plan: Any) -> tuple[plans.Checked, Sequence[DocumentUse]]:
    """A plan of a story, ready to run; its faults point into the story."""
    place = f"/plans/{index}/plan"
    fetched = Fetched(host().documents)
    body = fetched.named("plan", plan, place)
    if fetched.faults:
        raise invalid_input(errors_from(fetched.faults))
    try:
        return plans.check(body, host().registry, host().documents), fetched.used
    except PlanNotValid as problem:
        errors = [{**error, "pointer": place + error["pointer"]} for error in problem.errors]
        raise PlanNotValid(count_of_faults(errors), errors) from None
