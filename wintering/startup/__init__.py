"""What runs before anything is installed: the standard library only, no Django.

environment  makes .venv and keeps it as the locks say
record       remembers in .venv what was installed there
turns        lets one run at a time change .venv
pip_words    says in a sentence what pip failed at
packages     installs what the tests need of the system, on a Debian as root
browser      finds, or on Debian installs, the browser that the tests need
broker       the same for the MQTT broker
testing      the word `test`: the checks, then pytest
"""

import sys


class StartupProblem(Exception):
    """Why the start stops here: a sentence for the person who started it."""


def tell(words: str) -> None:
    """Say what the start-up is doing; stdout stays free for a command's own output."""
    print(f"wintering: {words}", file=sys.stderr, flush=True)
