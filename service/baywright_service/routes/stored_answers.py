"""/v1/plans/{id}/...: what a stored plan answers, by address, for pages and other programs.

Each address has an ETag made from what the answer depends on: asking again costs nothing.
"""

from dataclasses import dataclass

from flask import Blueprint, Response, current_app, request
from flask.blueprints import BlueprintSetupState

from .. import plans
from ..badge import badge_svg
from ..documents import Stored, is_id
from ..envelope import CSV, SVG
from ..host import host
from ..json_writer import digest, json_bytes
from ..problems import NotFound
from ..representations import (
    JSON,
    SCENE,
    chosen_form,
    chosen_page,
    chosen_view,
    forms_of,
    respond,
)
from ..stored_answers import StoredAnswer, StoredAnswers, key_of, summary_of
from .reading import takes

routes = Blueprint("stored-answers", __name__, url_prefix="/v1/plans/<document_id:id>")

_REMEMBERED = "baywright-stored-answers"


@routes.record_once
def _remember(state: BlueprintSetupState) -> None:
    state.app.extensions[_REMEMBERED] = StoredAnswers()


@dataclass(frozen=True)
class Asked:
    """A stored plan that can be run, and the key of its answer."""

    plan: Stored
    checked: plans.Checked
    key: str

    def etag(self, *what: str) -> str:
        """The ETag of one representation."""
        return digest("\n".join((self.key, *what)).encode())

    def answered(self) -> StoredAnswer:
        """The answer, calculated now unless remembered."""
        answers: StoredAnswers = current_app.extensions[_REMEMBERED]
        return answers.answer(host(), self.plan, self.checked, self.key)


@routes.get("/answer")
def answer(id: str) -> Response:
    """The whole answer, as /v1/plans/run gives it."""
    chosen_form([JSON])
    asked = asked_plan(id)
    tag = asked.etag("answer")
    return unchanged(tag) or respond(json_bytes(asked.answered().answer), JSON, etag=tag)


@routes.get("/summary")
def summary(id: str) -> Response:
    """The verdict at a glance."""
    chosen_form([JSON])
    asked = asked_plan(id)
    tag = asked.etag("summary")
    return unchanged(tag) or respond(json_bytes(summary_of(asked.answered())), JSON, etag=tag)


@routes.get("/badge")
def badge(id: str) -> Response:
    """The verdict as a small picture."""
    chosen_form([SVG])
    asked = asked_plan(id)
    tag = asked.etag("badge")
    found = unchanged(tag)
    if found is not None:
        return found
    answered = asked.answered()
    return respond(badge_svg(answered.plan.title, summary_of(answered)), SVG, etag=tag)


@routes.get("/steps/<step>/drawing")
@takes("format", "view", "paper", "scale")
def drawing(id: str, step: str) -> Response:
    """A picture of one step."""
    asked = asked_plan(id)
    run = asked.answered().run_of(step)
    if not run.calculator.views:
        raise NotFound(f"{run.calculator.name} draws nothing.")
    forms = [form for form in forms_of(run.calculator) if form not in (JSON, CSV, SCENE)]
    form = chosen_form(forms)
    view, page = chosen_view(run.calculator, form), chosen_page(asked.plan.title)
    tag = asked.etag("drawing", step, form, view, *page.marks)
    found = unchanged(tag)
    if found is not None:
        return found
    content = host().calculate(run.calculator, run.body, run.documents, form, view, page).content
    return respond(content, form, etag=tag)


@routes.get("/steps/<step>/table")
def table(id: str, step: str) -> Response:
    """The table of one step."""
    chosen_form([CSV])
    asked = asked_plan(id)
    tag = asked.etag("table", step)
    found = unchanged(tag)
    if found is not None:
        return found
    run = asked.answered().run_of(step)
    if not run.calculator.tabular:
        raise NotFound(f"{run.calculator.name} gives no table.")
    content = host().calculate(run.calculator, run.body, run.documents, CSV).content
    return respond(content, CSV, etag=tag)


@routes.get("/steps/<step>/scene")
@takes("format")
def scene(id: str, step: str) -> Response:
    """What of one step stands in space."""
    chosen_form([SCENE])
    asked = asked_plan(id)
    tag = asked.etag("scene", step)
    found = unchanged(tag)
    if found is not None:
        return found
    run = asked.answered().run_of(step)
    if not run.calculator.spatial:
        raise NotFound(f"{run.calculator.name} shows nothing in space.")
    content = host().calculate(run.calculator, run.body, run.documents, SCENE).content
    return respond(content, SCENE, etag=tag)


def asked_plan(id: str) -> Asked:
    """The plan that is asked for. Raises NotFound and PlanNotValid."""
    parts = host()
    stored = parts.documents.current("plan", id) if is_id(id) else None
    if stored is None:
        raise NotFound(f"No plan “{id[:64]}” is stored.")
    checked = plans.check(stored.body, parts.registry, parts.documents)
    return Asked(stored, checked, key_of(parts, stored.revision, checked))


def unchanged(etag: str) -> Response | None:
    """304 where the asker has this already; nothing is calculated then."""
    if not request.if_none_match.contains(etag):
        return None
    response = Response(status=304)
    response.set_etag(etag)
    response.headers["Vary"] = "Accept, Accept-Encoding"
    response.headers["Cache-Control"] = "no-cache"
    return response
