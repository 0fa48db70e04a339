"""The demo's plans in a service's store, for its dashboard and for addresses to embed."""

from collections.abc import Mapping
from typing import Any

from .api import Api
from .demo import STORY, examples
from .files import load_object
from .gather import SHARED, Descriptions
from .prepare import plan_of

NAME = "returns-desk"


def store_demo(api: Api) -> list[str]:
    """Store kit, stock and plans of the demo where none of these ids is taken; the plans' ids."""
    descriptions = Descriptions(api)
    stored = []
    for name in STORY:
        body = dict(plan_of(load_object(str(examples() / f"{name}.yaml")), descriptions).body)
        for kind in SHARED:
            if kind in body:
                _keep(api, kind, NAME, body[kind])
                body[kind] = {"id": NAME}
        _keep(api, "plan", f"{NAME}-{name}", body)
        stored.append(f"{NAME}-{name}")
    return stored


def _keep(api: Api, kind: str, id: str, body: Mapping[str, Any]) -> None:
    """What the builder changed under this id stays as it is."""
    if not api.revision_of(kind, id):
        api.put_document(kind, id, body, "")
