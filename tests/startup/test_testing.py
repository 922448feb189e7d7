"""What `manage.py test` runs, in which order, and what it says of failures."""

import subprocess
import sys
from dataclasses import replace

import pytest

from wintering.startup import testing
from wintering.startup.environment import ROOT


@pytest.fixture
def ran(monkeypatch):
    """Commands are noted instead of run; those in `broken` fail."""
    commands, broken = [], []

    def run(command, *, cwd, env):
        assert cwd == ROOT
        commands.append((command, env))
        code = int(any(word in command for word in broken))
        return subprocess.CompletedProcess(command, code)

    monkeypatch.setattr(testing.subprocess, "run", run)
    provided = {"browser": "/usr/bin/chromium", "broker": "/usr/sbin/mosquitto"}
    needs = [
        replace(need, provide=lambda name=need.name: provided[name])
        for need in testing.NEEDS
    ]
    monkeypatch.setattr(testing, "NEEDS", needs)
    monkeypatch.setattr(
        testing, "tests_under", lambda folder, words: [f"tests/{folder.name}/test_a"]
    )
    monkeypatch.delenv("CI", raising=False)
    return commands, broken, provided


def words_of(commands):
    return [
        " ".join(command).replace(sys.executable, "python") for command, _ in commands
    ]


def test_everything_runs_and_pytest_is_last(ran, capsys):
    assert testing.run_tests([]) == 0
    words = words_of(ran[0])
    assert words[0] == "python -m ruff format --check ."
    assert words[1] == "python -m ruff check ."
    assert words[2].endswith("lint-imports")
    assert words[3] == "python manage.py makemigrations --check --dry-run"
    assert words[4] == "python manage.py check"
    assert words[5] == "python -m mypy"
    assert words[6:] == ["python -m pytest"]
    assert capsys.readouterr().out == ""


def test_with_arguments_only_pytest_runs(ran):
    assert testing.run_tests(["tests/science", "-k", "chill"]) == 0
    assert words_of(ran[0]) == ["python -m pytest tests/science -k chill"]


def test_failing_steps_are_named_and_the_rest_still_runs(ran, capsys):
    ran[1].extend(["check", "pytest"])
    assert testing.run_tests([]) == 1
    assert len(ran[0]) == 7
    told = capsys.readouterr().err
    assert "failed: lint, system check, tests." in told


def test_the_keepers_data_folder_takes_no_part(ran, monkeypatch):
    monkeypatch.setenv("WINTERING_DATA", "keepers-own")
    testing.run_tests([])
    assert {env["WINTERING_DATA"] for _, env in ran[0]}.isdisjoint({"keepers-own"})


def test_checks_stay_in_the_environment_of_the_tests(ran):
    testing.run_tests([])
    assert {env["WINTERING_NO_VENV"] for _, env in ran[0]} == {"1"}


def test_tests_are_told_the_browser_and_the_broker(ran):
    testing.run_tests([])
    environ = ran[0][-1][1]
    assert environ["WINTERING_BROWSER"] == "/usr/bin/chromium"
    assert environ["WINTERING_BROKER"] == "/usr/sbin/mosquitto"


@pytest.mark.parametrize("name", ["browser", "broker"])
def test_what_is_missing_leaves_its_tests_out_by_name(ran, capsys, name):
    ran[2][name] = None
    assert testing.run_tests([]) == 0
    ignored = [word for word in ran[0][-1][0] if word.startswith("--ignore")]
    assert ignored == [f"--ignore={testing.ROOT / 'tests' / name}"]
    told = capsys.readouterr().err
    assert f"not run for want of a {name}: tests/{name}/test_a. Install" in told


@pytest.mark.parametrize("name", ["browser", "broker"])
def test_what_is_missing_fails_ci(ran, monkeypatch, capsys, name):
    monkeypatch.setenv("CI", "true")
    ran[2][name] = None
    assert testing.run_tests([]) == 1
    assert f"failed: {name} tests not run." in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ([], ["tests/browser/test_day.py"]),
        (["-x"], ["tests/browser/test_day.py"]),
        (["-k", "chill"], ["tests/browser/test_day.py"]),
        (["tests"], ["tests/browser/test_day.py"]),
        (["tests/browser/test_day.py::test_it"], ["tests/browser/test_day.py"]),
        (["tests/science"], []),
    ],
)
def test_browser_is_wanted_only_by_tests_that_drive_it(
    tmp_path, monkeypatch, words, expected
):
    folder = tmp_path / "tests" / "browser"
    folder.mkdir(parents=True)
    (folder / "test_day.py").touch()
    (tmp_path / "tests" / "science").mkdir()
    monkeypatch.setattr(testing, "ROOT", tmp_path)
    assert testing.tests_under(folder, words) == expected


@pytest.mark.parametrize(
    ("environ", "expected"),
    [({}, False), ({"CI": "false"}, False), ({"CI": "true"}, True)],
)
def test_ci_is_recognised(environ, expected):
    assert testing.is_ci(environ) is expected
