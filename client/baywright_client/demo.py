"""The Returns Desk, as planned and as changed: two plan files, run and told one after the other."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from . import screen
from .answers import Json, Machine, of_plan
from .api import Api
from .files import load_object
from .gather import Descriptions, illustrated
from .outputs import ready, write_machine, write_report
from .prepare import plan_of

#: The files of the story, in its order.
STORY = ("planned", "changed")
DEFAULT_FOLDER = "returns-desk-report"
TITLE = "The Returns Desk: as planned, and as changed"
ABOUT = (
    "A touring rolling-ball machine for town libraries, our own invention. The first plan looks "
    "right standing in the workshop; the calculators say what happens at the doors, on its back, "
    "with a lift stopped and at the shelf. The second plan is what the maker changed."
)


def examples() -> Path:
    """The folder of the demo's plan files."""
    return Path(__file__).parent / "examples" / "returns-desk"


def tell(api: Api, folder: Path, source: Path | None = None) -> Path:
    """Run the plans of `source`, tell what they found, write everything; the report's path."""
    ready(folder)
    told = [_run(api, name, source or examples()) for name in STORY]
    machines = [machine for machine, _ in told]
    for machine in machines:
        screen.say()
        screen.say("=" * screen.width())
        screen.show_machine(machine, screen.nowhere, most=2)
    screen.say()
    screen.say("=" * screen.width())
    screen.say(screen.strong("Before and after"))
    screen.show_before_and_after(machines)
    screen.show_cautions(_shared_cautions(machines))
    for machine in machines:
        write_machine(folder / machine.name, machine)
    screen.whisper("Writing the report …")
    plans = [{"name": machine.name, "plan": plan} for machine, plan in told]
    return write_report(folder, api, plans, TITLE, ABOUT)


def _run(api: Api, name: str, source: Path) -> tuple[Machine, Json]:
    """The plan of that name answered and drawn, and as it was sent."""
    screen.whisper(f"Calculating the machine as {name} …")
    descriptions = Descriptions(api)
    plan = plan_of(load_object(str(source / f"{name}.yaml")), descriptions)
    answer = api.run_plan(plan.body)
    machine = replace(of_plan(plan.body, answer.content, answer.json()), name=name)
    return illustrated(machine, plan.body, descriptions, screen.whisper), plan.body


def _shared_cautions(machines: Sequence[Machine]) -> list[str]:
    """The caution that every calculator gives."""
    lists = [
        list(step.envelope.get("cautions", ()))
        for machine in machines
        for step in machine.steps
        if step.status == "done"
    ]
    return [text for text in lists[0] if all(text in other for other in lists)] if lists else []
