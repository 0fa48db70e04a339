"""/v1/plans/run: a chain of calculators in one request."""

from typing import Any

from flask import Blueprint, Response

from .. import plans
from ..contract import DocumentUse
from ..documents import Fetched, is_reference
from ..envelope import document_json
from ..host import host
from ..problems import errors_from, invalid_input
from ..representations import respond_json
from .reading import json_body

routes = Blueprint("plans", __name__, url_prefix="/v1/plans")


@routes.post("/run")
def run_plan() -> Response:
    """A plan, or {"id": ...} of a stored one; every step's envelope out."""
    body, used = _plan(json_body())
    checked = plans.check(body, host().registry, host().documents)
    answer = plans.run(checked, host().documents, host().envelope)
    answer["documents"] = [*map(document_json, used), *answer["documents"]]
    return respond_json(answer)


def _plan(body: Any) -> tuple[Any, tuple[DocumentUse, ...]]:
    if not is_reference(body):
        return body, ()
    fetched = Fetched(host().documents)
    plan = fetched.named("plan", body, "")
    if fetched.faults:
        raise invalid_input(errors_from(fetched.faults))
    return plan, fetched.used
