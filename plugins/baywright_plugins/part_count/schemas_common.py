"""Inputs that the count and its stock programme share."""

from baywright_service.contract import InputSchema, Key, Text, Whole

MOST = 10_000_000


class AccessorySchema(InputSchema):
    """Parts beside the frame: shelves, lift frames, floor tiles, balls."""

    item = Key(required=True, title="Part of the kit", example="R60")
    count = Whole(required=True, minimum=0, maximum=MOST, title="How many")
    title = Text(longest=120, load_default="", title="What for")
    section = Key(title="Section it belongs to; absent: the machine")
