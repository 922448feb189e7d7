"""The shape of the code: small files, small views, nothing of one machine."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_FILE, LONGEST_VIEW = 400, 40
# Built of parts, so that this file does not find itself.
MACHINE_PATHS = re.compile(
    "/(?:" + "|".join(("root", "home", "work", "tmp")) + ")/[A-Za-z]"
)


ENDINGS = {".py", ".html", ".css", ".js", ".typ"}


def sources():
    """Everything written by hand; migrations are drawn from the models."""
    folders = (ROOT / name for name in ("wintering", "templates", "tests"))
    found = [path for folder in folders for path in folder.rglob("*")]
    apart = {"vendor", "migrations", "__pycache__"}
    return [
        path
        for path in [ROOT / "manage.py", *found]
        if path.suffix in ENDINGS and not apart & set(path.parts)
    ]


def test_there_are_sources_to_look_at():
    assert len(sources()) > 100


def test_no_file_is_longer_than_its_ceiling():
    lengths = {path: len(path.read_text().splitlines()) for path in sources()}
    assert {p.name: n for p, n in lengths.items() if n > LONGEST_FILE} == {}


@pytest.mark.parametrize("kind", ["views", "services"])
def test_views_and_services_are_short(kind):
    long = {}
    for path in sources():
        if path.suffix != ".py" or not ({path.stem, path.parent.name} & {kind}):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef):
                lines = node.end_lineno - node.lineno + 1
                if lines > LONGEST_VIEW:
                    long[f"{path.name}:{node.name}"] = lines
    assert long == {}


def test_nothing_names_a_path_of_one_machine():
    named = [path.name for path in sources() if MACHINE_PATHS.search(path.read_text())]
    assert named == []
