"""`baywright batch`: many variants in one go, followed to their end or left to go on.

As in `cli`, each command is a sentence of help and a call, and nothing but click is imported until
one runs.
"""

from typing import TYPE_CHECKING, Any

import click

from .errors import DONE, STOP
from .shared import (
    Failed,
    RunByDefault,
    a_file,
    as_json,
    bytes_of,
    pointing_into,
    service,
    tell_conversions,
)

if TYPE_CHECKING:
    from .api import Answer, Api

an_id = click.argument("id")
to_csv = click.option(
    "--csv", "csv_file", metavar="FILE", help='Write every result to FILE ("-": standard output).'
)


@click.group(cls=RunByDefault)
def batch() -> None:
    """Run many variants: baywright batch FILE.

    FILE names a plan (or a calculator with inputs), what varies, and what to keep of each answer.
    A batch is kept by the service: it goes on after Ctrl-C, by its id.
    """


@batch.command("run")
@a_file
@to_csv
@as_json
@click.option("--detach", is_flag=True, help="Only start it, and print its id.")
@click.option("--key", metavar="KEY", help="Idempotency-Key: one batch, however often it is sent.")
@click.pass_context
def run_batch(
    ctx: click.Context,
    file: str,
    csv_file: str | None,
    as_json: bool,
    detach: bool,
    key: str | None,
) -> None:
    """Run every variant that FILE asks for."""
    import secrets

    from . import screen
    from .batch_files import batch_of
    from .files import load_object
    from .gather import Descriptions

    loaded = load_object(file)
    with service(ctx, workers=True) as api:
        ready = batch_of(loaded, Descriptions(api))
        tell_conversions(ready)
        with pointing_into(ready):
            answer = api.make_batch(ready.body, key or secrets.token_urlsafe(24))
        started = answer.json()
        if detach:
            return bytes_of(answer) if as_json else screen.say(started["id"])
        total = started["item_counts"]["total"]
        screen.whisper(f"Batch {started['id']}, {total:,} variants.")
        _follow(api, started["id"], csv_file, as_json)


@batch.command()
@an_id
@to_csv
@as_json
@click.pass_context
def watch(ctx: click.Context, id: str, csv_file: str | None, as_json: bool) -> None:
    """Follow batch ID to its end, then show its results."""
    with service(ctx, workers=True) as api:
        _follow(api, id, csv_file, as_json)


@batch.command("list")
@as_json
@click.pass_context
def list_batches(ctx: click.Context, as_json: bool) -> None:
    """Every batch that is kept, the newest first."""
    from . import screen
    from .progress import done_count
    from .tables import text_table

    with service(ctx) as api:
        pages = list(api.batches())
    if as_json:
        for page in pages:
            bytes_of(page)
        return
    entries = [entry for page in pages for entry in page.json()["items"]]
    if not entries:
        return screen.whisper("No batch is kept. Start one with: baywright batch FILE")
    rows = [
        [e["id"], e["status"], f"{done_count(e):,} of {e['item_counts']['total']:,}"]
        + [e["created_at"], str(e.get("title", ""))]
        for e in entries
    ]
    for line in text_table(["id", "status", "done", "made", "title"], rows, width=screen.width()):
        screen.say(line)


@batch.command()
@an_id
@as_json
@click.pass_context
def show(ctx: click.Context, id: str, as_json: bool) -> None:
    """How far batch ID is, and what has come of it so far."""
    from .batch_table import show_batch

    with service(ctx) as api:
        answer = api.batch(id)
        if as_json:
            return bytes_of(answer)
        show_batch(answer.json(), api.batch_results(id).content)
    _tell_end(answer.json())


@batch.command()
@an_id
@to_csv
@as_json
@click.option("--item", type=click.IntRange(0), metavar="INDEX", help="One variant, as JSON.")
@click.option("--answer", is_flag=True, help="With --item: its whole answer too.")
@click.pass_context
def results(
    ctx: click.Context,
    id: str,
    csv_file: str | None,
    as_json: bool,
    item: int | None,
    answer: bool,
) -> None:
    """What came of the variants of batch ID: as a table, CSV (--csv) or NDJSON (--json)."""
    from .api import NDJSON
    from .batch_table import show_batch

    with service(ctx) as api:
        if item is not None:
            return bytes_of(api.batch_item(id, item, answer=answer))
        if as_json:
            return bytes_of(api.batch_results(id, NDJSON))
        content = api.batch_results(id).content
        if csv_file:
            return _write(csv_file, content)
        show_batch(api.batch(id).json(), content)


@batch.command()
@an_id
@as_json
@click.pass_context
def cancel(ctx: click.Context, id: str, as_json: bool) -> None:
    """End batch ID: what has been calculated stays, the rest is not done."""
    from . import screen

    with service(ctx) as api:
        answer = api.cancel_batch(id)
    if as_json:
        return bytes_of(answer)
    counts = answer.json()["item_counts"]
    screen.say(f"{id} is {answer.json()['status']}; {counts['dismissed']:,} variants were not done")


@batch.command()
@an_id
@click.pass_context
def delete(ctx: click.Context, id: str) -> None:
    """Remove batch ID with its results; one that runs is cancelled first."""
    from . import screen

    with service(ctx) as api:
        api.delete_batch(id)
    screen.say(f"Deleted the batch {id}")


def _follow(api: "Api", id: str, csv_file: str | None, as_json: bool) -> None:
    """To the end with a line of progress, then the results. Ctrl-C leaves the batch as it is."""
    from . import screen
    from .batch_table import outcome_of, rows_of, show_batch

    try:
        answer = _awaited(api, id)
    except KeyboardInterrupt:
        screen.whisper(f"The batch {id} is kept. Go on with:  baywright batch watch {id}")
        screen.whisper(f"End it with:                   baywright batch cancel {id}")
        raise
    content = api.batch_results(id).content
    if csv_file:
        _write(csv_file, content)
    if as_json:
        bytes_of(answer)
    elif csv_file != "-":
        show_batch(answer.json(), content)
    _tell_end(answer.json())
    outcomes = {outcome_of(row) for row in rows_of(content)[1]}
    good = answer.json()["status"] == "successful" and not outcomes & {"stop", "failed"}
    raise Failed(DONE if good else STOP)


def _awaited(api: "Api", id: str) -> "Answer":
    from time import sleep

    from .progress import ENDED, Line

    line = Line()
    try:
        answer = api.batch(id)
        while answer.json()["status"] not in ENDED:
            line.show(answer.json())
            answer = api.batch(id, wait_s=1)
            if "Preference-Applied" not in answer.headers:
                sleep(1.0)  # others wait already
        line.show(answer.json())
    finally:
        line.end()
    return answer


def _tell_end(batch: Any) -> None:
    from . import screen

    if batch.get("problem"):
        screen.whisper(f"It failed: {batch['problem'].get('detail', '')}")
    elif batch["status"] == "dismissed":
        screen.whisper("It was cancelled before all of it was done.")
    if "expires_at" in batch:
        screen.whisper(f"Kept until {batch['expires_at'][:10]} as {batch['id']}.")


def _write(name: str, content: bytes) -> None:
    from pathlib import Path

    from . import screen
    from .errors import BadUsage

    if name == "-":
        return click.echo(content, nl=False)
    try:
        Path(name).write_bytes(content)
    except OSError as error:
        reason = error.strerror or str(error)
        raise BadUsage(f"Cannot write {name}: {reason}.", "Name a file of your own.") from error
    screen.whisper(f"Wrote {name}")
