"""What a wrong environment is told at the start."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.checks import run_checks

ROOT = Path(__file__).parent.parent


def found():
    return {
        message.id for message in run_checks() if message.id.startswith("wintering")
    }


def started_with(tmp_path, **environment):
    """A start of the settings in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", "import wintering.settings as s; print(s.DEBUG)"],
        cwd=ROOT,
        env={**os.environ, "WINTERING_DATA": str(tmp_path / "data"), **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_default_settings_are_sound():
    assert found() == set()


def test_a_data_folder_that_cannot_be_written_to_is_an_error(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "not there"
    assert "wintering.E001" in found()


def test_https_without_a_name_is_warned_of(settings):
    settings.IS_HTTPS = True
    settings.ALLOWED_HOSTS = ["localhost"]
    assert found() == {"wintering.W001"}


def test_debug_in_the_open_is_warned_of(settings):
    settings.DEBUG = True
    settings.ALLOWED_HOSTS = ["trees.example"]
    assert found() == {"wintering.W002"}


def test_it_starts_with_no_variable_set_and_debug_off(tmp_path):
    start = started_with(tmp_path)
    assert start.stdout.strip() == "False"
    key = tmp_path / "data" / "secret_key"
    assert len(key.read_text()) >= 50
    assert key.stat().st_mode & 0o077 == 0


def test_the_secret_key_is_made_once(tmp_path):
    started_with(tmp_path)
    made = (tmp_path / "data" / "secret_key").read_text()
    started_with(tmp_path)
    assert (tmp_path / "data" / "secret_key").read_text() == made


@pytest.mark.parametrize(
    ("environment", "said"),
    [
        ({"WINTERING_DEBUG": "perhaps"}, "write yes or no"),
        ({"WINTERING_DATA": "/proc/nowhere"}, "Set WINTERING_DATA to a folder"),
    ],
)
def test_a_wrong_value_stops_the_start_with_a_sentence(tmp_path, environment, said):
    start = started_with(tmp_path, **environment)
    assert start.returncode != 0
    assert said in start.stderr
