"""What can be wrong with a frame that its schema cannot see."""


class LayoutFault(ValueError):
    """A frame that names something it does not hold; `pointer` is relative to the frame's input."""

    def __init__(self, pointer: str, code: str, detail: str) -> None:
        super().__init__(f"{pointer}: {detail}")
        self.pointer, self.code, self.detail = pointer, code, detail


def unknown(pointer: str, detail: str) -> LayoutFault:
    """Something is named that is not there."""
    return LayoutFault(pointer, "unknown-reference", detail)
