"""Which part may import which. Read from the import lines, so that nothing has to run."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SERVICE = ROOT / "service" / "baywright_service"
PLUGINS = ROOT / "plugins" / "baywright_plugins"
CLIENT = ROOT / "client" / "baywright_client"


def modules(folder: Path) -> list[Path]:
    """Every module below a folder."""
    found = sorted(folder.rglob("*.py"))
    assert found
    return found


def imported(path: Path) -> Iterator[str]:
    """The full names of modules that a file imports, wherever the line stands."""
    parents = path.relative_to(ROOT).parts[1:-1]
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = parents[: len(parents) - node.level + 1] if node.level else ()
            module = ".".join([*base, *([node.module] if node.module else [])])
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names)


def strangers(path: Path, *forbidden: str) -> list[str]:
    """What a file imports of the packages it must not know."""
    return [
        name
        for name in imported(path)
        if any(name == other or name.startswith(other + ".") for other in forbidden)
    ]


def name_of(path: Path) -> str:
    """For the test's id."""
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", modules(SERVICE), ids=name_of)
def test_the_service_knows_no_calculator_and_no_client(path: Path) -> None:
    assert strangers(path, "baywright_plugins", "baywright_client") == []
    assert "baywright_plugins" not in path.read_text()


@pytest.mark.parametrize("path", modules(PLUGINS), ids=name_of)
def test_plug_ins_import_the_contract_and_nothing_else_of_the_service(path: Path) -> None:
    of_service = [n for n in imported(path) if n.startswith("baywright_service")]
    contract = "baywright_service.contract"
    assert all(n == contract or n.startswith(contract + ".") for n in of_service), of_service
    assert strangers(path, "baywright_client", "flask", "werkzeug", "requests", "click") == []


@pytest.mark.parametrize("path", modules(CLIENT), ids=name_of)
def test_the_client_speaks_http_and_only_embedded_starts_a_service(path: Path) -> None:
    assert strangers(path, "baywright_plugins") == []
    if path.name != "embedded.py":
        assert strangers(path, "baywright_service", "flask", "marshmallow") == []


@pytest.mark.parametrize("path", modules(PLUGINS), ids=name_of)
def test_calculators_do_not_import_one_another(path: Path) -> None:
    """Numerics may be shared, a calculator's package itself may not; what all share is beneath."""
    beneath = {"kit", "frame", "cautions"}
    calculators = {init.parent.name for init in PLUGINS.glob("*/__init__.py")} - beneath
    own = path.relative_to(PLUGINS).parts[0]
    packages = {f"baywright_plugins.{name}" for name in calculators - {own}}
    assert [name for name in imported(path) if name in packages] == []
    if own in beneath:
        assert strangers(path, *packages) == []
    if own == "kit":
        assert strangers(path, "baywright_plugins.frame") == []


def test_the_contract_needs_no_web_server() -> None:
    """A plug-in can be imported, and tested, without Flask."""
    code = (
        "import sys, baywright_service.contract as c\n"
        "assert all(hasattr(c, name) for name in c.__all__)\n"
        "print(sorted({'flask', 'werkzeug', 'requests', 'scipy', 'networkx'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_no_module_is_long() -> None:
    """One idea, one file."""
    long = {
        name_of(path): count
        for folder in (SERVICE, PLUGINS, CLIENT)
        for path in modules(folder)
        if (count := len(path.read_text().splitlines())) > 700
    }
    assert long == {}
