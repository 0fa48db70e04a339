"""The view in three dimensions without a browser: its files, their licence, their weight."""

import hashlib
import re
from pathlib import Path

import pytest
from flask.testing import FlaskClient

import baywright_service

FOLDER = Path(baywright_service.__file__).parent / "dashboard"
VENDOR = FOLDER / "vendor"
OURS = sorted(FOLDER.glob("three-*"))
ALL = [path for path in FOLDER.rglob("*") if path.is_file()]
#: As published by npm in three 0.183.0.
PUBLISHED = {
    "three.core.min.js": "c5f69a04c70de8c95152040c286a3c8a0489603b019dfd61b34c451e3371c4fd",
    "three.module.min.js": "e3ec4d5d223c0119f754150a3d9deef16139074ea17b073e93bbce315ad16eda",
}


def test_the_library_lies_there_as_published_with_its_licence() -> None:
    names = {path.name for path in VENDOR.iterdir()}
    assert names == {*PUBLISHED, "three-license.txt"}
    for name, digest in PUBLISHED.items():
        assert hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() == digest
    licence = (VENDOR / "three-license.txt").read_text("utf-8")
    assert "MIT License" in licence and "three.js authors" in licence


def test_everything_there_is_weighs_less_than_the_page_may() -> None:
    """1.5 MB for the page with its view; what everybody loads is a fifth of that."""
    weight = {path: path.stat().st_size for path in ALL}
    assert sum(weight.values()) < 1_500_000
    first = sum(size for path, size in weight.items() if path not in OURS and path.parent != VENDOR)
    assert first < 320_000


def test_the_view_is_loaded_by_nobody_who_does_not_open_it() -> None:
    eager = [path for path in FOLDER.glob("*.js") if path not in OURS]
    for path in [*eager, FOLDER / "three-slot.js", FOLDER / "index.html"]:
        text = path.read_text("utf-8")
        static = re.findall(r"(?:from|import) \"\./([^\"]+)\"", text)
        assert not any(name.startswith("vendor/") for name in static), path.name
        assert not {name for name in static if name.startswith("three-")} - {"three-slot.js"}
    assert 'import("./three-view.js")' in (FOLDER / "three-slot.js").read_text("utf-8")
    assert "vendor" not in (FOLDER / "index.html").read_text("utf-8")


@pytest.mark.parametrize("path", OURS, ids=lambda path: path.name)
def test_what_our_modules_import_is_there_and_no_other_host_is_named(path: Path) -> None:
    text = path.read_text("utf-8")
    assert "http:" not in text and "https:" not in text
    assert len(text.splitlines()) < 300
    for name in re.findall(r"from \"\./([^\"]+)\"", text):
        assert (FOLDER / name).is_file(), name


def test_the_library_asks_no_other_host() -> None:
    """What looks like an address in it is the name of a namespace, or a paper in a comment."""
    known = {"http://www.w3.org/1999/xhtml", "https://jcgt.org/published/0007/04/01/"}
    for name in PUBLISHED:
        text = (VENDOR / name).read_text("utf-8")
        assert set(re.findall(r"https?://[\w./-]+", text)) <= known


@pytest.mark.parametrize("name", [*PUBLISHED, "three-license.txt"])
def test_vendor_files_are_served_under_their_folder(client: FlaskClient, name: str) -> None:
    answer = client.get(f"/dashboard/vendor/{name}")
    assert (answer.status_code, answer.data) == (200, (VENDOR / name).read_bytes())
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    kind = "text/javascript" if name.endswith(".js") else "text/plain"
    assert answer.content_type.startswith(kind)
    etag = answer.headers["ETag"]
    again = client.get(f"/dashboard/vendor/{name}", headers={"If-None-Match": etag})
    assert again.status_code == 304


@pytest.mark.parametrize("name", ["main.js", "..%2Fmain.js", "nothing.js", "%2e%2e%2findex.html"])
def test_nothing_else_is_served_from_there(client: FlaskClient, name: str) -> None:
    assert client.get(f"/dashboard/vendor/{name}").status_code == 404
