"""The command line: each command is a sentence of help and a call.

Results go to standard output, words beside them to standard error. Exit status: 0 done and
nothing to stop for, 1 a verdict of stop, 2 usage, 3 the service refused, 4 no answer,
130 interrupted. Nothing but click is imported until a command runs.
"""

import os
import sys
from typing import TYPE_CHECKING, Any

import click

from .batch_commands import batch
from .errors import DONE, INTERRUPTED, BadUsage, ClientError
from .shared import (
    Failed,
    RunByDefault,
    a_file,
    as_json,
    bytes_of,
    end_with,
    pointing_into,
    reached,
    service,
    tell_conversions,
)

if TYPE_CHECKING:
    from .answers import Machine, StepAnswer

CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}
to_folder = click.option(
    "--output",
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Write drawings (SVG), tables (CSV), the answer (JSON) and the report (HTML, PDF) to DIR.",
)
a_calculator = click.argument("name", shell_complete=lambda *given: known_names(*given))


def known_names(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[Any]:
    """The calculators whose name begins so, for the shell."""
    from click.shell_completion import CompletionItem

    try:
        with service(ctx) as api:
            items = api.calculators().json()["items"]
    except Exception:  # a broken service completes nothing, and says nothing
        return []
    return [
        CompletionItem(entry["name"], help=entry.get("title"))
        for entry in items
        if entry["name"].startswith(incomplete)
    ]


@click.group(context_settings=CONTEXT)
@click.option(
    "--service",
    metavar="URL",
    envvar="BAYWRIGHT_SERVICE",
    show_envvar=True,
    help="A running service. Without it one is started for the command, on this machine only.",
)
@click.version_option(
    package_name="baywright", prog_name="baywright", message="%(prog)s %(version)s"
)
def cli(service: str | None) -> None:
    """Calculators for builders of big rolling-ball machines.

    Start with:  baywright demo

    FILE is YAML or JSON, "-" is standard input. A quantity may carry its unit ("32 in",
    "5 ft 2 in", "100 lbf", "1 h"), and {$file: kit.yaml} takes in another file.

    A token for the service comes from BAYWRIGHT_TOKEN, or from the file that
    BAYWRIGHT_TOKEN_FILE names.
    """


# Daily things


@cli.command()
@click.option("--host", help="Address to listen on.  [default: 127.0.0.1]")
@click.option("--port", type=click.IntRange(0, 65535), help="0 takes a free one.  [default: 8080]")
@click.option(
    "--store", metavar="FILE", help="Where documents are kept; :memory: forgets them at the end."
)
@click.option("--demo", is_flag=True, help="Store the demo's plans, to look at in the dashboard.")
def serve(host: str | None, port: int | None, store: str | None, demo: bool) -> None:
    """Answer requests until interrupted; the dashboard is the page at its address.

    Beyond this machine (--host) a token is needed: set BAYWRIGHT_TOKEN or BAYWRIGHT_TOKEN_FILE.
    """
    from .embedded import serve as keep_serving

    given = {"host": host, "port": port, "store": store}
    named = {name: value for name, value in given.items() if value is not None}

    def tell(url: str) -> None:
        click.echo(f"Baywright answers at {url}/  (Ctrl-C ends it)")
        if demo:
            _store_demo_soon(url)

    keep_serving(named, tell)


def _store_demo_soon(url: str) -> None:
    """In a thread of its own: the service answers only once this returns."""
    import threading

    def store() -> None:
        from .stored_demo import store_demo

        try:
            with reached(url) as api:
                stored = store_demo(api)
                click.echo(f"The demo is stored: {', '.join(stored)}")
                for id in stored:  # so that the dashboard's first visitor need not wait
                    api.plan_summary(id)
        except ClientError as error:
            click.echo(f"The demo could not be stored: {error}", err=True)

    threading.Thread(target=store, daemon=True).start()


@cli.command("list")
@as_json
@click.pass_context
def list_calculators(ctx: click.Context, as_json: bool) -> None:
    """The calculators of the service."""
    with service(ctx) as api:
        answer = api.calculators()
    if as_json:
        return bytes_of(answer)
    from . import screen
    from .tables import text_table

    listed = answer.json()
    rows = [[e["name"], e["version"], e.get("title", "")] for e in listed.get("items", ())]
    for line in text_table(["calculator", "version", "what it is"], rows, width=screen.width()):
        screen.say(line)
    for entry in listed.get("refused", ()):
        screen.whisper(f"Not loaded: {entry.get('name')}: {entry.get('reason')}")
    screen.whisper("More on one: baywright show NAME")


@cli.command()
@a_calculator
@click.option("--full", is_flag=True, help="Every field, however deep.")
@click.option(
    "--example",
    type=click.IntRange(1),
    is_flag=False,
    flag_value=1,
    metavar="[N]",
    help="Print the inputs of the N-th example, ready to run.",
)
@as_json
@click.pass_context
def show(ctx: click.Context, name: str, full: bool, example: int | None, as_json: bool) -> None:
    """What calculator NAME asks, takes and stands on."""
    with service(ctx) as api:
        answer = api.calculator(name)
    if as_json:
        return bytes_of(answer)
    if example is not None:
        return _print_example(answer.json(), example)
    _print_description(answer.json(), full)


@cli.command()
@a_calculator
@a_file
@as_json
@to_folder
@click.pass_context
def run(ctx: click.Context, name: str, file: str, as_json: bool, output: str | None) -> None:
    """Run calculator NAME on the inputs in FILE."""
    _run_one(ctx, name, file, as_json, output)


@cli.command()
@a_file
@as_json
@click.option(
    "--output",
    metavar="DIR",
    type=click.Path(file_okay=False),
    default="search-result",
    show_default=True,
    help="Where pictures, table, report and each machine's plan file go.",
)
@click.pass_context
def search(ctx: click.Context, file: str, as_json: bool, output: str) -> None:
    """Look for machines within the envelope, route, kit and loads in FILE.

    Each machine that no other one beats is written as a plan file that runs as it is:
    baywright plan search-result/design-search-NAME.yaml
    """
    _run_one(ctx, "design-search", file, as_json, output)


def _run_one(ctx: click.Context, name: str, file: str, as_json: bool, output: str | None) -> None:
    from . import screen
    from .answers import of_run
    from .files import load_object
    from .gather import Descriptions, sheet_of
    from .prepare import inputs_of

    loaded = load_object(file)
    _make(output)
    with service(ctx) as api:
        descriptions = Descriptions(api)
        ready = inputs_of(name, loaded, descriptions)
        tell_conversions(ready)
        with pointing_into(ready):
            answer = api.run(name, ready.body)
        machine = of_run(name, answer.content, answer.json())
        plan = {"steps": [{"id": name, "inputs": ready.body}]}
        if output:
            machine = _written(machine, plan, descriptions, output)
        if as_json:
            bytes_of(answer)
        else:
            sheet = machine.steps[0].sheet if output else None
            sheet = sheet or sheet_of(descriptions.of(name), ready.body, api)
            title = str(descriptions.of(name).get("title") or name)
            screen.say(f"{screen.strong(title)}   {screen.badge(machine.verdict)}")
            screen.show_findings(machine, ready.exact_place)
            screen.show_result(machine.steps[0], sheet)
            screen.show_cautions(machine.steps[0].envelope.get("cautions", ()))
    end_with(machine.verdict)


@cli.group(cls=RunByDefault)
def plan() -> None:
    """Run a plan: baywright plan FILE. Or store one: plan put.

    A plan is a chain of calculators for one machine; baywright plan run --help lists the options.
    """


@plan.command("run")
@a_file
@as_json
@to_folder
@click.pass_context
def run_plan(ctx: click.Context, file: str, as_json: bool, output: str | None) -> None:
    """Run every step of the plan in FILE.

    FILE may hold {id: NAME}, which runs a stored plan.
    """
    from . import screen
    from .answers import of_plan
    from .files import load_object
    from .gather import Descriptions
    from .prepare import plan_of

    loaded = load_object(file)
    _make(output)
    with service(ctx) as api:
        descriptions = Descriptions(api)
        ready = plan_of(loaded, descriptions)
        tell_conversions(ready)
        with pointing_into(ready):
            answer = api.run_plan(ready.body)
        body = ready.body
        if output and "steps" not in body and "id" in body:
            body = api.document("plan", str(body["id"])).json()
        machine = of_plan(body, answer.content, answer.json())
        if output:
            machine = _written(machine, body, descriptions, output)
    if as_json:
        bytes_of(answer)
    else:
        screen.show_machine(machine, ready.exact_place)
    end_with(machine.verdict)


@cli.command()
@click.option(
    "--output",
    metavar="DIR",
    type=click.Path(file_okay=False),
    default="returns-desk-report",
    show_default=True,
    help="Where the report and its files go.",
)
@click.pass_context
def demo(ctx: click.Context, output: str) -> None:
    """The Returns Desk: a whole machine as planned, then as changed.

    Ends with 0 whatever the verdicts: a stop is part of the story.
    """
    from pathlib import Path

    from . import screen
    from .demo import tell

    with service(ctx, forgetful=True) as api:
        report = tell(api, Path(output))
    screen.say()
    screen.say(f"Report: {report.resolve()}")
    screen.whisper(f"JSON, CSV and SVG files stand beside it. Open it in a browser: {report}")


# Stored documents


def _document_commands(kind: str, group: click.Group) -> None:
    """put, get, delete and list for one kind of document."""

    @group.command("list", help=f"Every stored {kind}.")
    @as_json
    @click.pass_context
    def list_documents(ctx: click.Context, as_json: bool) -> None:
        with service(ctx) as api:
            pages = list(api.documents(kind))
        if as_json:
            for page in pages:
                bytes_of(page)
            return
        _print_documents(kind, [entry for page in pages for entry in page.json()["items"]])

    @group.command("get", help=f"Print the {kind} ID.")
    @click.argument("id")
    @click.pass_context
    def get(ctx: click.Context, id: str) -> None:
        with service(ctx) as api:
            bytes_of(api.document(kind, id))

    @group.command("put", help=f"Store FILE as the {kind} ID; one that is there is replaced.")
    @click.argument("id")
    @a_file
    @click.pass_context
    def put(ctx: click.Context, id: str, file: str) -> None:
        from . import screen
        from .files import load_object
        from .gather import Descriptions
        from .prepare import document_of

        loaded = load_object(file)
        with service(ctx) as api:
            ready = document_of(kind, loaded, Descriptions(api))
            tell_conversions(ready)
            before = api.revision_of(kind, id)
            with pointing_into(ready):
                answer = api.put_document(kind, id, ready.body, before)
        word = "Replaced" if before else "Stored"
        screen.say(f"{word} the {kind} {id}, {answer.headers.get('ETag', '').strip(chr(34))}")

    @group.command("delete", help=f"Remove the {kind} ID; revisions that answers name stay.")
    @click.argument("id")
    @click.pass_context
    def delete(ctx: click.Context, id: str) -> None:
        from . import screen

        with service(ctx) as api:
            revision = api.document(kind, id).headers.get("ETag", "")
            api.delete_document(kind, id, revision)
        screen.say(f"Deleted the {kind} {id}")


@cli.group()
def kit() -> None:
    """Stored kits: list, get, put, delete."""


@cli.group()
def stock() -> None:
    """Stored stocks: list, get, put, delete."""


cli.add_command(batch)

for _kind, _group in (("kit", kit), ("stock", stock), ("plan", plan)):
    _document_commands(_kind, _group)


# For programs and shells


@cli.command()
@click.option("--yaml", "form", flag_value="yaml", help="As YAML.  [default]", default="yaml")
@click.option("--json", "form", flag_value="json", help="As JSON.")
@click.pass_context
def openapi(ctx: click.Context, form: str) -> None:
    """Print the OpenAPI document of the service."""
    with service(ctx) as api:
        bytes_of(api.description(form))


@cli.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print what makes SHELL complete commands.

    \b
    bash:  eval "$(baywright completion bash)"    in ~/.bashrc
    zsh:   eval "$(baywright completion zsh)"     in ~/.zshrc
    fish:  baywright completion fish | source     in ~/.config/fish/config.fish
    """
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(cli, {}, "baywright", "_BAYWRIGHT_COMPLETE").source())


# What the commands share


def _make(output: str | None) -> None:
    if output:
        from pathlib import Path

        from .outputs import ready

        ready(Path(output))


def _written(machine: "Machine", plan: Any, descriptions: Any, output: str) -> "Machine":
    from pathlib import Path

    from . import screen
    from .gather import illustrated
    from .outputs import write_machine, write_report

    machine = illustrated(machine, plan, descriptions, screen.whisper)
    written = write_machine(Path(output), machine)
    title = machine.title if len(machine.steps) > 1 else machine.steps[0].heading
    told = plan if len(machine.steps) > 1 else _alone(plan, machine.steps[0])
    report = write_report(Path(output), descriptions.api, [{"plan": told}], title)
    screen.whisper(f"Wrote {report} and {len(written)} files beside it.")
    return machine


def _alone(plan: Any, step: "StepAnswer") -> Any:
    """The plan of one step; a run of a calculator becomes one."""
    first = {"calculator": step.calculator, "title": step.heading, **plan["steps"][0]}
    return {**plan, "steps": [first]}


def _print_description(description: Any, full: bool) -> None:
    from . import screen
    from .outline import outline
    from .tables import text_table

    screen.say(f"{screen.strong(description['name'])} {description['version']}")
    screen.say(description.get("title", ""))
    screen.paragraph(description.get("summary", ""))
    screen.say()
    rows = outline(description.get("input_schema", {}), 9 if full else 2)
    for line in text_table(["input", "takes", "what it is"], rows, width=screen.width()):
        screen.say(line)
    screen.say("* must be given")
    for heading, entries in (
        ("Examples", [str(entry.get("title", "")) for entry in description.get("examples", ())]),
        ("Views", [f"{v['name']}: {v.get('title', '')}" for v in description.get("views", ())]),
        ("Sources", [_source(entry) for entry in description.get("sources", ())]),
        ("Cautions", description.get("cautions", ())),
    ):
        if entries:
            screen.say()
            screen.say(screen.strong(heading))
        for number, entry in enumerate(entries, 1):
            screen.paragraph(entry, f"  {number}. ", "     ")
    name = description["name"]
    screen.whisper(
        f"Try it: baywright show {name} --example > my.yaml && baywright run {name} my.yaml"
    )


def _source(source: Any) -> str:
    return ", ".join(part for part in (source.get("title"), source.get("clause")) if part)


def _print_example(description: Any, number: int) -> None:
    import yaml

    examples = description.get("examples", ())
    if number > len(examples):
        raise BadUsage(f"{description['name']} has {len(examples)} examples, not {number}.")
    example = examples[number - 1]
    click.echo(f"# {description['name']}: {example['title']}")
    text = yaml.safe_dump(
        example["inputs"], sort_keys=False, default_flow_style=None, allow_unicode=True, width=100
    )
    click.echo(text, nl=False)


def _print_documents(kind: str, entries: list[Any]) -> None:
    from . import screen
    from .tables import text_table

    if not entries:
        screen.whisper(f"No {kind} is stored. Store one with: baywright {kind} put ID FILE")
        return
    rows = [
        [entry["id"], entry.get("title", ""), entry.get("updated_at", ""), entry["revision"][:19]]
        for entry in entries
    ]
    header = ["id", "title", "changed", "revision"]
    for line in text_table(header, rows, width=screen.width()):
        screen.say(line)


def main(arguments: list[str] | None = None) -> None:
    """The console script: runs a command and ends with its status."""
    status = status_of(arguments)
    if status == INTERRUPTED:
        # Threads may be deep in a calculation, and would not survive an orderly end.
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)
    sys.exit(status)


def status_of(arguments: list[str] | None = None) -> int:
    """Run a command; what went wrong is said, and becomes a status."""
    try:
        cli.main(arguments, prog_name="baywright", standalone_mode=False)
    except Failed as failed:
        return failed.status
    except click.exceptions.Exit as end:
        return end.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted.", err=True)
        return INTERRUPTED
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except ClientError as error:
        from . import screen

        screen.complain(error)
        return error.exit_status
    except (BrokenPipeError, SystemExit):  # what click makes of a broken pipe
        # Nobody reads on: what is left must not be flushed into nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    return DONE
