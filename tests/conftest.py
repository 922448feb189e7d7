"""What every test shares: quick passwords and a files folder of its own."""

import pytest

from tests.real import left_out


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """One line that names what was not run here, and why."""
    line = left_out()
    if line:
        terminalreporter.write_line(line)


@pytest.fixture(autouse=True)
def _quick_and_apart(settings, tmp_path):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = tmp_path / "files"
