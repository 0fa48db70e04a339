"""What the client may import, and how soon it answers."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

HEAVY = ["numpy", "scipy", "networkx", "flask", "requests", "marshmallow", "yaml", "pint"]
CLIENT = Path(__file__).parents[2] / "client" / "baywright_client"
MODULES = sorted(path.stem for path in CLIENT.glob("*.py") if path.stem != "__init__")


def python(code: str) -> str:
    """What a fresh interpreter prints for `code`."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["plan", "--help"], ["nonsense"]])
def test_help_imports_nothing_heavy(arguments: list[str]) -> None:
    loaded = python(
        "import sys\nfrom baywright_client.cli import status_of\n"
        f"status_of({arguments!r})\n"
        f"print('LOADED', [name for name in {HEAVY} if name in sys.modules])"
    )
    assert loaded.splitlines()[-1] == "LOADED []"


def test_help_is_there_in_0_3_seconds() -> None:
    """The best of five, since other work may share the machine."""
    best = 60.0
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "baywright_client", "--help"],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        best = min(best, time.perf_counter() - start)
    assert best < 0.3


def test_the_client_needs_no_server_packages() -> None:
    """Every module of it can be imported where flask, numpy and the service are not installed."""
    blocked = ["flask", "numpy", "scipy", "networkx", "marshmallow", "werkzeug", "waitress"]
    blocked += ["baywright_service", "baywright_plugins"]
    imports = "\n".join(f"import baywright_client.{name}" for name in MODULES)
    assert "embedded" in MODULES and len(MODULES) > 10
    python(f"import sys\nfor name in {blocked}: sys.modules[name] = None\n{imports}")


def test_without_the_service_package_the_way_out_is_named() -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys\nsys.modules['baywright_service.server'] = None\n"
            "from baywright_client.cli import main\nmain(['list'])",
        ],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 4
    assert "--service http" in done.stderr and "Traceback" not in done.stderr


def test_only_embedded_names_the_service() -> None:
    for name in MODULES:
        text = (CLIENT / f"{name}.py").read_text("utf-8")
        assert ("import baywright_service" in text or "from baywright_service" in text) == (
            name == "embedded"
        )


@pytest.mark.parametrize("arguments", [["--help"], ["completion", "bash"]])
def test_output_that_nobody_reads_ends_quietly(arguments: list[str]) -> None:
    """`baywright ... | head -0` is no mistake, and no verdict."""
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "wb") as closed:
        done = subprocess.run(
            [sys.executable, "-m", "baywright_client", *arguments],
            stdout=closed,
            stderr=subprocess.PIPE,
            timeout=60,
        )
    assert not done.stderr and done.returncode == 0
