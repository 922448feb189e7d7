#!/usr/bin/env python3
"""Start Wintering: python3 manage.py demo, serve, test, or any management command.

The first run makes .venv beside this file and installs the hashed lock into it; see
wintering/startup/. This file must run on older Pythons too, down to 3.6, to be able
to say which one is needed.
"""

import os
import sys

OLDEST_PYTHON = (3, 11)


def python_problem(version: tuple) -> str:
    """What to tell somebody whose Python is too old; nothing to tell otherwise."""
    if tuple(version[:2]) >= OLDEST_PYTHON:
        return ""
    return (
        f"Wintering needs Python 3.{OLDEST_PYTHON[1]} or newer, and this is Python "
        f"{version[0]}.{version[1]}. Install a newer one and start manage.py with it, "
        f"for instance: python3.{OLDEST_PYTHON[1]} manage.py demo"
    )


def main(words: list) -> int:
    """Check Python, enter the environment, then do what was asked."""
    problem = python_problem(sys.version_info)
    if problem:
        print(problem, file=sys.stderr)
        return 1
    # Only from here on is it safe to import code that older Pythons cannot read.
    from wintering.startup import StartupProblem
    from wintering.startup.environment import RUN_LOCK, TEST_LOCK, enter
    from wintering.startup.testing import run_tests

    is_test = words[:1] == ["test"]
    try:
        enter(TEST_LOCK if is_test else RUN_LOCK)
        return run_tests(words[1:]) if is_test else run_django(words)
    except StartupProblem as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130


def run_django(words: list) -> int:
    """Hand over to Django; a wrong setting is told as its sentence alone."""
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wintering.settings")
    try:
        execute_from_command_line(["manage.py", *words])
    except ImproperlyConfigured as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
