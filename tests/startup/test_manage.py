"""manage.py speaks to any Python 3, and start-up code needs nothing installed."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import manage
from wintering.startup.environment import ROOT

STARTUP = sorted((ROOT / "wintering" / "startup").glob("*.py"))


@pytest.mark.parametrize("version", [(2, 7), (3, 6), (3, 10)])
def test_older_python_is_told_which_one_is_needed(version):
    words = manage.python_problem((*version, 1, "final", 0))
    assert "needs Python 3.11 or newer" in words
    assert f"this is Python {version[0]}.{version[1]}." in words


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 1), (4, 0, 0)])
def test_python_3_11_and_newer_are_welcome(version):
    assert manage.python_problem(version) == ""


def test_too_old_a_python_ends_with_1_before_anything_else(monkeypatch, capsys):
    monkeypatch.setattr(sys, "version_info", (3, 9, 2, "final", 0))
    assert manage.main(["demo"]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("Wintering needs Python 3.11")


def test_manage_py_can_be_read_by_an_old_python():
    source = (ROOT / "manage.py").read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 6))
    at_once = [node for node in ast.parse(source).body if _is_import(node)]
    assert [node.names[0].name for node in at_once] == ["os", "sys"]


@pytest.mark.parametrize("file", STARTUP, ids=lambda path: path.name)
def test_start_up_imports_the_standard_library_alone(file):
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        for name in _imported(node):
            is_own = name.startswith("wintering.startup")
            assert is_own or name.partition(".")[0] in sys.stdlib_module_names, name


def test_start_up_runs_where_nothing_is_installed():
    names = [f"wintering.startup.{file.stem}" for file in STARTUP]
    names.remove("wintering.startup.__init__")
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import {', '.join(names)}"
    # -S leaves site-packages out, -I the environment
    subprocess.run([sys.executable, "-I", "-S", "-c", code], check=True)


def test_wrong_setting_is_one_sentence_and_exit_1(tmp_path):
    run = subprocess.run(
        [sys.executable, ROOT / "manage.py", "check"],
        env={
            "WINTERING_NO_VENV": "1",
            "WINTERING_DEBUG": "perhaps",
            "WINTERING_DATA": str(tmp_path),
            "PATH": str(Path(sys.executable).parent),
            "SYSTEMROOT": "C:\\Windows",
        },
        capture_output=True,
        text=True,
    )
    assert run.returncode == 1
    assert run.stdout == ""
    assert run.stderr == "WINTERING_DEBUG is 'perhaps': write yes or no.\n"


def _is_import(node: ast.AST) -> bool:
    return isinstance(node, ast.Import | ast.ImportFrom)


def _imported(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        assert node.module, "start-up code imports absolutely"
        return [node.module]
    return []
