"""/v1/plans/run: a chain of calculators in one request."""

from typing import Any

from flask import Blueprint, Response

from .. import plans
from ..batches.making import single
from ..contract import DocumentUse
from ..documents import Fetched, is_reference
from ..envelope import document_json
from ..host import host
from ..json_writer import json_bytes
from ..problems import errors_from, invalid_input
from ..report.schemas import FORMS
from ..representations import JSON, chosen_form, respond
from .batches import promised
from .preferring import prefers_async
from .reading import json_body, takes
from .reports import report_response, tell

routes = Blueprint("plans", __name__, url_prefix="/v1/plans")


@routes.post("/run")
@takes("format")
def run_plan() -> Response:
    """A plan, or {"id": ...} of a stored one; every step's envelope out, or the report of it all.

    `Prefer: respond-async` makes it a batch of one instead.
    """
    form = chosen_form([JSON, *FORMS])
    sent = json_body()
    body, used = _plan(sent)
    checked = plans.check(body, host().registry, host().documents)
    if prefers_async():
        return promised(sent, lambda: single(body, None))
    if form != JSON:
        return report_response([tell(checked, used)], form)
    answer = plans.run(checked, host().documents, host().envelope)
    answer["documents"] = [*map(document_json, used), *answer["documents"]]
    return respond(json_bytes(answer), JSON)


def _plan(body: Any) -> tuple[Any, tuple[DocumentUse, ...]]:
    if not is_reference(body):
        return body, ()
    fetched = Fetched(host().documents)
    plan = fetched.named("plan", body, "")
    if fetched.faults:
        raise invalid_input(errors_from(fetched.faults))
    return plan, fetched.used
