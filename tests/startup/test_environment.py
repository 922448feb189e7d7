"""The environment is made, kept, repaired and entered; pip itself is stood in for."""

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

from wintering.startup import StartupProblem, environment
from wintering.startup.record import UNFINISHED, Record, read, write
from wintering.startup.turns import one_at_a_time, take

OFFLINE = "WARNING: Retrying: Failed to establish a new connection: [Errno -3]\n"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A project folder with a lock; pip calls are noted, and succeed."""
    monkeypatch.setattr(environment, "ROOT", tmp_path)
    monkeypatch.setattr(environment, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(environment, "TURNS", tmp_path / ".venv.lock")
    (tmp_path / "requirements.txt").write_text("one\n")
    return tmp_path


@pytest.fixture
def pip_calls(monkeypatch):
    calls = []

    def run_pip(command):
        calls.append(command)
        return 0, ""

    monkeypatch.setattr(environment, "run_pip", run_pip)
    return calls


@pytest.fixture
def bare_venvs(monkeypatch):
    """Environments without pip: the same, but made in a moment and without network."""
    import venv

    class Bare(venv.EnvBuilder):
        def __init__(self, *, symlinks, with_pip):
            assert with_pip
            super().__init__(symlinks=symlinks)

    monkeypatch.setattr(venv, "EnvBuilder", Bare)


def provide(place):
    environment.provide(place / "requirements.txt")


def test_first_run_makes_and_installs_and_the_next_does_nothing(
    place, pip_calls, bare_venvs, capsys
):
    provide(place)
    provide(place)
    assert len(pip_calls) == 1
    assert "--require-hashes" in pip_calls[0]
    assert pip_calls[0][-2:] == ["-r", str(place / "requirements.txt")]
    told = capsys.readouterr()
    assert told.out == ""
    assert "making .venv with Python" in told.err
    assert "installing the packages of requirements.txt" in told.err


def test_a_changed_lock_is_installed_into_the_same_environment(
    place, pip_calls, bare_venvs
):
    provide(place)
    kept = place / ".venv" / "kept"
    kept.touch()
    (place / "requirements.txt").write_text("two\n")
    provide(place)
    assert len(pip_calls) == 2
    assert kept.exists()


def test_an_interrupted_set_up_is_made_again(place, pip_calls, bare_venvs, capsys):
    provide(place)
    (place / ".venv" / "half").touch()
    write(place / ".venv", UNFINISHED)
    provide(place)
    assert len(pip_calls) == 2
    assert not (place / ".venv" / "half").exists()
    assert "the last set-up was interrupted" in capsys.readouterr().err


def test_a_kill_during_pip_leaves_the_environment_unfinished(
    place, bare_venvs, monkeypatch
):
    def killed(command):
        raise KeyboardInterrupt

    monkeypatch.setattr(environment, "run_pip", killed)
    with pytest.raises(KeyboardInterrupt):
        provide(place)
    assert read(place / ".venv") == UNFINISHED


def test_a_new_python_makes_the_environment_again(place, pip_calls, bare_venvs, capsys):
    provide(place)
    write(place / ".venv", Record("3.10.0 (old)", {}))
    provide(place)
    assert len(pip_calls) == 2
    assert "Python has changed" in capsys.readouterr().err


def test_an_environment_whose_python_is_gone_is_made_again(
    place, pip_calls, bare_venvs
):
    provide(place)
    environment.venv_python().unlink()
    provide(place)
    assert len(pip_calls) == 2
    assert environment.venv_python().exists()


def test_somebody_elses_folder_is_left_alone(place, pip_calls):
    (place / ".venv").mkdir()
    (place / ".venv" / "theirs").touch()
    with pytest.raises(StartupProblem, match=r"was not made by manage\.py"):
        provide(place)
    assert (place / ".venv" / "theirs").exists()
    assert pip_calls == []


@pytest.mark.parametrize("left", [[], ["wintering.json.new"]], ids=["empty", "new"])
def test_a_kill_before_the_first_record_is_repaired(place, pip_calls, bare_venvs, left):
    (place / ".venv").mkdir()
    for name in left:
        (place / ".venv" / name).touch()
    provide(place)
    assert len(pip_calls) == 1


def test_without_network_the_environment_as_it_was_still_holds(
    place, pip_calls, bare_venvs, monkeypatch
):
    provide(place)
    before = read(place / ".venv")
    (place / "requirements.txt").write_text("two\n")
    monkeypatch.setattr(environment, "run_pip", lambda command: (1, OFFLINE))
    with pytest.raises(StartupProblem, match="Connect to the network"):
        provide(place)
    assert read(place / ".venv") == before


def test_pip_failing_halfway_leaves_the_environment_unfinished(
    place, bare_venvs, monkeypatch
):
    def half(command):
        packages = next((place / ".venv").glob("[lL]ib*/**/site-packages"))
        (packages / "half").mkdir()
        os.utime(packages, (1, 1))
        return 1, "ERROR: disk trouble"

    monkeypatch.setattr(environment, "run_pip", half)
    with pytest.raises(StartupProblem, match="its own words are above"):
        provide(place)
    assert read(place / ".venv") == UNFINISHED


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_missing_venv_module_names_the_debian_package(
    place, pip_calls, monkeypatch, module
):
    def find_spec(name):
        return None if name == module else True

    monkeypatch.setattr(importlib.util, "find_spec", find_spec)
    with pytest.raises(StartupProblem, match="sudo apt install python3-venv") as told:
        provide(place)
    assert f"lacks the module {module}" in str(told.value)
    assert not (place / ".venv").exists()


def test_a_failing_ensurepip_tells_its_words_and_leaves_it_unfinished(
    place, pip_calls, monkeypatch, capsys
):
    def create(self, folder):
        raise subprocess.CalledProcessError(1, "ensurepip", output=b"no wheels here\n")

    monkeypatch.setattr("venv.EnvBuilder.create", create)
    with pytest.raises(StartupProblem, match="words of Python's ensurepip are above"):
        provide(place)
    assert "no wheels here" in capsys.readouterr().err
    assert read(place / ".venv") == UNFINISHED


def test_a_folder_that_cannot_be_written_is_named(place, monkeypatch):
    blocked = place / "a-file" / ".venv"
    (place / "a-file").touch()
    monkeypatch.setattr(environment, "VENV", blocked)
    monkeypatch.setattr(environment, "TURNS", place / "a-file" / ".venv.lock")
    monkeypatch.delenv("WINTERING_NO_VENV", raising=False)
    with pytest.raises(StartupProblem, match=r"failed at .*a-file.*Put that right"):
        environment.enter(place / "requirements.txt")


def test_own_environment_with_django_is_used_as_it_is(place, monkeypatch):
    monkeypatch.setenv("WINTERING_NO_VENV", "1")
    environment.enter(place / "requirements.txt")
    assert not (place / ".venv").exists()


def test_own_environment_without_django_is_refused(place, monkeypatch):
    monkeypatch.setenv("WINTERING_NO_VENV", "1")
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(StartupProblem, match="has no Django"):
        environment.enter(place / "requirements.txt")


@pytest.mark.parametrize("word", ["", "0", "no", "off"])
def test_no_venv_can_be_said_to_be_off(word):
    assert not environment.stays_outside({"WINTERING_NO_VENV": word})


def test_unclear_no_venv_is_refused():
    with pytest.raises(StartupProblem, match="'maybe': write yes or no"):
        environment.stays_outside({"WINTERING_NO_VENV": "maybe"})


def test_pip_speaks_on_stderr_and_its_words_are_kept(capfd):
    code = "import sys; print('fetching'); print('failed', file=sys.stderr); exit(3)"
    result = environment.run_pip([sys.executable, "-c", code])
    told = capfd.readouterr()
    assert result[0] == 3
    assert sorted(result[1].split()) == ["failed", "fetching"]
    assert told.out == ""
    assert "fetching" in told.err


def test_a_second_run_waits_for_the_first(tmp_path):
    turns = tmp_path / "turns"
    with one_at_a_time(turns), turns.open("a+b") as second:
        assert not take(second)
    with turns.open("a+b") as third:
        assert take(third)


def test_a_killed_run_lets_go_of_its_turn(tmp_path):
    turns = tmp_path / "turns"
    code = (
        "import pathlib, sys, time\n"
        f"sys.path.insert(0, {str(Path(environment.__file__).parents[2])!r})\n"
        "from wintering.startup.turns import one_at_a_time\n"
        f"with one_at_a_time(pathlib.Path({str(turns)!r})):\n"
        "    print('held', flush=True); time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as run:
        assert run.stdout.readline().strip() == b"held"
        with turns.open("a+b") as file:
            assert not take(file)
        run.kill()
    with turns.open("a+b") as file:
        assert take(file)
