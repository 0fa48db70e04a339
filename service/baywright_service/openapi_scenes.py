"""In the API document: what stands in space."""

from .openapi_shapes import LEVEL, TEXT, Json, list_of, object_of

_NUMBER: Json = {"type": "number"}
_PLACE: Json = {"type": "integer", "minimum": 0}
_NUMBERS = list_of(_NUMBER)
_TRIPLE: Json = {"type": "array", "items": _NUMBER, "minItems": 3, "maxItems": 3}
_PAIR: Json = {"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2}
_TRIPLES = list_of(_TRIPLE)
_GROUPS = list_of(_PLACE)


def scene_schema() -> Json:
    """Points and bars, and what is known of them; z points up."""
    bars = object_of(
        {
            "start": list_of(_PLACE),
            "end": list_of(_PLACE),
            "group": list_of({"type": "integer", "minimum": -1}),
            "kind": list_of(_PLACE),
            "piece": list_of(_PLACE),
        }
    )
    forces = {"groups": _GROUPS, "ratio": _NUMBERS, "force_n": _NUMBERS, "down": _TRIPLE}
    return object_of(
        {
            "title": TEXT,
            "words": TEXT,
            "verdict": LEVEL,
            "points_mm": _TRIPLES,
            "group_of_point": list_of(_PLACE),
            "bars": bars,
            "groups": list_of(object_of({"id": TEXT, "title": TEXT, "apart": _TRIPLE})),
            "kinds": list_of(TEXT),
            "pieces": list_of(object_of({"id": TEXT, "thickness_mm": _NUMBER})),
            "places": list_of(list_of({"type": "integer"})),
            "size_mm": _TRIPLE,
            "margin_mm": _NUMBER,
            "states": list_of(
                object_of({"id": TEXT, "title": TEXT, **forces, "moved_mm": _TRIPLES})
            ),
            "motions": list_of(object_of({"title": TEXT, "groups": _GROUPS, "moved": _TRIPLES})),
            "attitudes": list_of(object_of({"title": TEXT, "words": TEXT, **forces})),
            "passings": list_of(_passing()),
            "left_out": list_of(TEXT),
            "share_of": TEXT,
            "state_first": TEXT,
        }
    )


def _passing() -> Json:
    block: Json = {"type": "array", "items": _TRIPLE, "minItems": 2, "maxItems": 2}
    turn: Json = {"type": "array", "items": _TRIPLE, "minItems": 3, "maxItems": 3}
    return object_of(
        {
            "body": TEXT,
            "opening": TEXT,
            "words": TEXT,
            "passes": {"type": "boolean"},
            "spare_mm": _NUMBER,
            "opening_mm": _PAIR,
            "lifted_mm": _NUMBER,
            "through_mm": _NUMBER,
            "blocks_mm": list_of(block),
            "turn": turn,
        },
        {"group": _PLACE, "inside_at_mm": _TRIPLE},
    )
