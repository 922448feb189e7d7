"""What every test shares: quick passwords and a files folder of its own."""

import pytest
from hypothesis import settings as hypothesis_settings

from tests.real import left_out

# The same examples everywhere, whichever tests run beside; and no clock, for how long
# one example takes says nothing on a busy machine.
hypothesis_settings.register_profile(
    "steady", deadline=None, derandomize=True, max_examples=150
)
hypothesis_settings.load_profile("steady")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """One line that names what was not run here, and why."""
    line = left_out()
    if line:
        terminalreporter.write_line(line)


@pytest.fixture(autouse=True)
def _quick_and_apart(settings, tmp_path):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = tmp_path / "files"
