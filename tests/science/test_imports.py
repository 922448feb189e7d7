"""The science stays light and pure: it can be read, tested and reused by itself."""

import ast
import sys
from pathlib import Path

import wintering.science

FOLDER = Path(wintering.science.__file__).parent
ALLOWED = {"numpy", "wintering.science"}
IMPURE = {"logging", "os", "random", "sqlite3", "subprocess", "urllib"}


def _imported(module: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module.name} imports relatively"
            names.add(node.module)
    return names


def test_science_needs_numpy_and_the_standard_library_alone():
    modules = sorted(FOLDER.glob("*.py"))
    assert len(modules) > 10
    for module in modules:
        for name in _imported(module):
            top = name.partition(".")[0]
            assert top not in IMPURE, f"{module.name} imports {name}"
            assert top in sys.stdlib_module_names or any(
                name == allowed or name.startswith(f"{allowed}.") for allowed in ALLOWED
            ), f"{module.name} imports {name}"


def test_science_reads_no_clock():
    for module in FOLDER.glob("*.py"):
        text = module.read_text(encoding="utf-8")
        for clock in (".now(", ".today(", ".utcnow(", "time.time("):
            assert clock not in text, f"{module.name} reads the clock: {clock}"
