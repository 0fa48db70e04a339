"""What commands share: the service they speak to, and how they end.

Nothing but click is imported until a command runs.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from .errors import DONE, STOP, BadUsage, NoAnswer, Refused

if TYPE_CHECKING:
    from .api import Answer, Api
    from .prepare import Ready

as_json = click.option("--json", "as_json", is_flag=True, help="Print what the service said.")
a_file = click.argument("file", type=click.Path(allow_dash=True))


class RunByDefault(click.Group):
    """`plan FILE` is `plan run FILE`, and so on; the other words are commands."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and args[0] not in ("-h", "--help"):
            args = ["run", *args]
        return super().parse_args(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[Any]:
        from click.shell_completion import CompletionItem

        return [*super().shell_complete(ctx, incomplete), CompletionItem(incomplete, type="file")]


class Failed(Exception):
    """A command that ends with a status of its own; everything was said already."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


@contextmanager
def service(
    ctx: click.Context, *, forgetful: bool = False, workers: bool = False
) -> Iterator["Api"]:
    """The service named by --service, or one of our own for the time of the command: `forgetful`
    stores nothing, `workers` calculates in several processes.

    With --json a refusal is what the service said, too, and goes to standard output.
    """
    try:
        url = ctx.find_root().params.get("service") or ""
        with reached(url, forgetful=forgetful, workers=workers) as api:
            yield api
    except (Refused, NoAnswer) as error:
        if ctx.params.get("as_json"):
            out(error.content)
        raise


@contextmanager
def reached(url: str, *, forgetful: bool = False, workers: bool = False) -> Iterator["Api"]:
    """The service at `url`; one of our own where that is empty."""
    if not url:
        from .embedded import embedded_api

        with embedded_api(forgetful=forgetful, workers=workers) as api:
            yield api
        return
    from .api import Api

    api = Api(url, token=_token())
    try:
        yield api
    finally:
        api.close()


def _token() -> str:
    token, path = os.environ.get("BAYWRIGHT_TOKEN", ""), os.environ.get("BAYWRIGHT_TOKEN_FILE", "")
    if token or not path:
        return token.strip()
    try:
        with open(path, encoding="ascii") as file:
            return file.read().strip()
    except (OSError, UnicodeDecodeError) as error:
        raise BadUsage(f"The token file {path} cannot be read: {error}.") from error


@contextmanager
def pointing_into(ready: "Ready") -> Iterator[None]:
    """Refusals point into the file while this lasts."""
    try:
        yield
    except Refused as refused:
        refused.where = ready.place
        raise


def out(content: bytes) -> None:
    """Bytes of the answer, on standard output."""
    click.echo(content, nl=False)


def bytes_of(answer: "Answer") -> None:
    """What the service said, byte for byte."""
    out(answer.content)


def tell_conversions(ready: "Ready") -> None:
    """Each quantity with a unit, and the number that is sent for it."""
    from . import screen
    from .labels import printed_unit

    for entry in ready.conversions[:10]:
        place = ready.loaded.place(entry.pointer)
        sent = f"{entry.number!r} {printed_unit(entry.unit)}".rstrip()
        screen.whisper(f"{place}: {entry.text} is sent as {sent}")
    if len(ready.conversions) > 10:
        screen.whisper(f"… and {len(ready.conversions) - 10} more quantities with units.")


def end_with(verdict: str) -> None:
    """End the command: a verdict of stop has an exit status of its own."""
    raise Failed(STOP if verdict == "stop" else DONE)
