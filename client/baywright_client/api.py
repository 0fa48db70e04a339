"""The service as Python: one method a resource. Everything goes through `Api._call`.

An answer is given as the service wrote it (`Answer.content`) and as a value (`Answer.json`); what
is no answer is raised as `Refused` (the service says no) or `NoAnswer` (nobody does).
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from .errors import BadUsage, NoAnswer, Refused

if TYPE_CHECKING:
    import requests

JSON, SVG, CSV, YAML = "application/json", "image/svg+xml", "text/csv", "application/yaml"
HTML, PDF = "text/html", "application/pdf"
NDJSON = "application/x-ndjson"
PROBLEM = "application/problem+json"
#: Plural as in the paths, singular as people say it.
KINDS = {"kit": "kits", "stock": "stocks", "plan": "plans"}
CONNECT_S, ANSWER_S = 5.0, 600.0


@dataclass(frozen=True)
class Answer:
    """What the service said, byte for byte."""

    status: int
    headers: Mapping[str, str]
    content: bytes

    def json(self) -> Any:
        """The content as a value. Raises NoAnswer where it is no JSON."""
        try:
            return json.loads(self.content)
        except ValueError:
            raise _not_ours("an answer that is not JSON") from None


class Api:
    """One service. `local` is one started for this command: no proxy may stand between."""

    def __init__(self, url: str, *, token: str = "", local: bool = False) -> None:
        import requests

        self.url = _address(url)
        self._session = requests.Session()
        self._session.trust_env = not local
        self._session.auth = _bearer(token)
        self._session.headers["Accept-Encoding"] = "identity" if local else "gzip"
        self._session.headers["User-Agent"] = "baywright"

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    # Calculators

    def calculators(self) -> Answer:
        """What the service offers."""
        return self._call("GET", "/v1/calculators")

    def calculator(self, name: str) -> Answer:
        """One calculator: schemas, examples, sources, cautions."""
        return self._call("GET", f"/v1/calculators/{_segment(name)}")

    def run(self, name: str, inputs: Mapping[str, Any]) -> Answer:
        """One run: the envelope."""
        return self._call("POST", f"/v1/calculators/{_segment(name)}/run", body=inputs)

    def drawing(self, name: str, inputs: Mapping[str, Any], view: str) -> Answer:
        """The picture `view` of the same run, as SVG."""
        path = f"/v1/calculators/{_segment(name)}/run?view={_segment(view)}"
        return self._call("POST", path, body=inputs, accept=SVG)

    def table(self, name: str, inputs: Mapping[str, Any]) -> Answer:
        """The table of the same run, as CSV."""
        return self._call("POST", f"/v1/calculators/{_segment(name)}/run", body=inputs, accept=CSV)

    # Plans

    def run_plan(self, plan: Mapping[str, Any]) -> Answer:
        """Every step's envelope, the merged findings and the verdict."""
        return self._call("POST", "/v1/plans/run", body=plan)

    def report(self, story: Mapping[str, Any], accept: str) -> Answer:
        """Plans told one after the other, as HTML or PDF: {"title", "about", "plans"}."""
        return self._call("POST", "/v1/reports", body=story, accept=accept)

    def plan_summary(self, id: str) -> Answer:
        """The verdict of a stored plan at a glance."""
        return self._call("GET", f"/v1/plans/{_segment(id)}/summary")

    # Documents

    def documents(self, kind: str) -> Iterator[Answer]:
        """The list of stored documents, a page at a time."""
        return self._pages(f"/v1/{KINDS[kind]}?limit=1000")

    def document(self, kind: str, id: str) -> Answer:
        """One stored document."""
        return self._call("GET", f"/v1/{KINDS[kind]}/{_segment(id)}")

    def revision_of(self, kind: str, id: str) -> str:
        """The ETag of a stored document; "" where none is stored."""
        try:
            return self.document(kind, id).headers.get("ETag", "")
        except Refused as refused:
            if refused.status == 404:
                return ""
            raise

    def put_document(self, kind: str, id: str, body: Mapping[str, Any], revision: str) -> Answer:
        """Create (no `revision`) or replace the one that is at `revision`."""
        condition = {"If-Match": revision} if revision else {"If-None-Match": "*"}
        path = f"/v1/{KINDS[kind]}/{_segment(id)}"
        return self._call("PUT", path, body=body, headers=condition)

    def delete_document(self, kind: str, id: str, revision: str) -> Answer:
        """Remove the document that is at `revision`."""
        path = f"/v1/{KINDS[kind]}/{_segment(id)}"
        return self._call("DELETE", path, headers={"If-Match": revision})

    # Batches

    def make_batch(self, body: Mapping[str, Any], key: str) -> Answer:
        """A new batch, or the one that `key` stands for already."""
        return self._call("POST", "/v1/batches", body=body, headers={"Idempotency-Key": key})

    def batches(self) -> Iterator[Answer]:
        """The list of batches, the newest first, a page at a time."""
        return self._pages("/v1/batches?limit=1000")

    def batch(self, id: str, *, wait_s: int = 0) -> Answer:
        """How far a batch is; `wait_s` gives it so long to end first."""
        headers = {"Prefer": f"wait={wait_s}"} if wait_s else {}
        return self._call("GET", f"/v1/batches/{_segment(id)}", headers=headers)

    def cancel_batch(self, id: str) -> Answer:
        """End it: what has not been calculated is not."""
        return self._call("PUT", f"/v1/batches/{_segment(id)}/cancellation", body={})

    def delete_batch(self, id: str) -> Answer:
        """Remove it with its results."""
        return self._call("DELETE", f"/v1/batches/{_segment(id)}")

    def batch_results(self, id: str, form: str = CSV) -> Answer:
        """Every result there is, as CSV or NDJSON, in the order of variants."""
        path = f"/v1/batches/{_segment(id)}/results?partial=true"
        return self._call("GET", path, accept=form)

    def batch_item(self, id: str, index: int, *, answer: bool = False) -> Answer:
        """One variant: the whole it stands for, and its whole answer where that is wanted."""
        query = "?answer=true" if answer else ""
        return self._call("GET", f"/v1/batches/{_segment(id)}/results/{index}{query}")

    # Descriptions

    def description(self, form: str = "json") -> Answer:
        """The OpenAPI document, as json or yaml."""
        return self._call("GET", f"/v1/openapi.{form}", accept=JSON if form == "json" else YAML)

    def _pages(self, path: str) -> Iterator[Answer]:
        while path:
            answer = self._call("GET", path)
            yield answer
            page = answer.json()
            following = page.get("next", "") if isinstance(page, dict) else ""
            path = following if str(following).startswith("/v1/") else ""

    def _call(
        self,
        method: str,
        path: str,
        *,
        body: Mapping[str, Any] | None = None,
        accept: str = JSON,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        """The one place where a request becomes an answer, a Refused or a NoAnswer."""
        import requests

        sent = {"Accept": accept, **(headers or {})}
        content = None
        if body is not None:
            sent["Content-Type"] = JSON
            content = json.dumps(body, allow_nan=False, separators=(",", ":")).encode()
        try:
            response = self._session.request(
                method,
                self.url + path,
                data=content,
                headers=sent,
                timeout=(CONNECT_S, ANSWER_S),
                allow_redirects=False,
            )
        except requests.RequestException as error:
            raise self._unreachable(error) from error
        return _sorted_out(response, accept)

    def _unreachable(self, error: Exception) -> NoAnswer:
        import requests

        if isinstance(error, requests.exceptions.ReadTimeout):
            return NoAnswer(f"{self.url} did not answer within {ANSWER_S:g} s.", "Ask for less.")
        if isinstance(error, requests.exceptions.SSLError):
            return NoAnswer(f"No safe connection to {self.url}.", "Look at its certificate.")
        return NoAnswer(
            f"No service answers at {self.url}.",
            "Start one with: baywright serve   (or leave --service out: one is started for you)",
        )


def _address(text: str) -> str:
    """The address of a service, scheme and all. Raises BadUsage."""
    try:
        parts = urlsplit(text if "//" in text else f"http://{text}")
        usable = parts.scheme in ("http", "https") and parts.hostname and parts.port != 0
    except ValueError:
        usable = False
    if not usable:
        raise BadUsage(f"“{text}” is no address of a service.", "Write: http://127.0.0.1:8080")
    return f"{parts.scheme}://{parts.netloc}{parts.path.rstrip('/')}"


def _sorted_out(response: "requests.Response", accept: str) -> Answer:
    media = response.headers.get("Content-Type", "").partition(";")[0].strip().lower()
    answer = Answer(response.status_code, response.headers, response.content)
    if response.status_code < 300 and (media == accept or not answer.content):
        return answer
    if response.status_code >= 400 and media == PROBLEM:
        problem = answer.json()
        if isinstance(problem, dict) and response.status_code < 500:
            raise Refused(response.status_code, problem, answer.content)
        if isinstance(problem, dict):
            raise _failed(response, problem)
    if response.status_code >= 500:
        raise NoAnswer(f"The service failed (status {response.status_code}).", _later(response))
    raise _not_ours(f"status {response.status_code} with {media or 'no media type'}")


def _failed(response: "requests.Response", problem: Mapping[str, Any]) -> NoAnswer:
    name = f" Its log knows this as {problem['instance']}." if problem.get("instance") else ""
    message = f"{problem.get('title', 'The service failed')}: {problem.get('detail', '')}{name}"
    return NoAnswer(message, _later(response), response.content)


def _later(response: "requests.Response") -> str:
    wait = response.headers.get("Retry-After", "")
    return f"Try again in {wait} s." if wait else "Try again; if it stays, look at its log."


def _not_ours(what: str) -> NoAnswer:
    return NoAnswer(
        f"What answers there is no Baywright service: it gave {what}.",
        "Check the address after --service (or in BAYWRIGHT_SERVICE).",
    )


def _segment(name: str) -> str:
    """`name` as one segment of a path. Raises BadUsage where it can be no name at all."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,127}", name):
        raise BadUsage(
            f"“{name[:80]}” is no name: names are letters, digits and hyphens.",
            "See the calculators with: baywright list, documents with: baywright kit list",
        )
    return name


def _bearer(token: str) -> Any:
    """Puts the token in; being there at all keeps a .netrc from speaking for us."""

    def put_in(request: Any) -> Any:
        if token:
            request.headers["Authorization"] = f"Bearer {token}"
        return request

    return put_in
