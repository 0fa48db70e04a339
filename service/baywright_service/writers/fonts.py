"""The two faces that PDF pages are set in, shipped with the package (see fonts/LICENSE.txt)."""

import re
from functools import lru_cache
from importlib.resources import as_file, files

REGULAR, BOLD = "BaywrightSans", "BaywrightSans-Bold"
_FILES = {REGULAR: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")


@lru_cache(maxsize=1)
def register() -> None:
    """Make both faces known to the PDF library, once in a process."""
    from reportlab import rl_config
    from reportlab.lib.fonts import addMapping
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    rl_config.useA85 = 0  # pages stay bytes: smaller, and sooner written
    for name, file in _FILES.items():
        with as_file(files(__package__).joinpath("fonts", file)) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
    for bold in (0, 1):
        for italic in (0, 1):
            addMapping(REGULAR, bold, italic, BOLD if bold else REGULAR)


def printable(text: str) -> str:
    """`text` with everything a page has no sign for (control characters) as one blank."""
    return _CONTROL.sub(" ", text)


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """How long `text` is when set in `size`; in the unit of `size`."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register()
    length: float = stringWidth(printable(text), BOLD if bold else REGULAR, size)
    return length


def broken(text: str, size: float, width: float) -> list[str]:
    """`text` on lines no longer than `width`, broken between words."""
    lines = [""]
    for word in printable(text).split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, size) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def shortened(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """`text`, cut at its end with an ellipsis where it is longer than `width`."""
    if width_of(text, size, bold=bold) <= width:
        return text
    text = text[:400]
    while text and width_of(text + "…", size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"
