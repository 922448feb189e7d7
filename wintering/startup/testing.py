"""The word `test`: every check in its order, pytest last so that its line ends all.

python3 manage.py test                      everything
python3 manage.py test tests/science -x     pytest alone, with these arguments
"""

import os
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from wintering.startup import broker, browser, tell
from wintering.startup.environment import ROOT
from wintering.startup.packages import system_id


@dataclass(frozen=True)
class Need:
    """What some tests need of the system, and where these tests lie."""

    name: str
    folder: Path
    variable: str  # by which the tests are told where it is
    provide: Callable[[], str | None]
    install_words: Callable[[str], str]


NEEDS = (
    Need(
        "broker",
        ROOT / "tests" / "broker",
        "WINTERING_BROKER",
        broker.provide_broker,
        broker.install_words,
    ),
    Need(
        "browser",
        ROOT / "tests" / "browser",
        "WINTERING_BROWSER",
        browser.provide_browser,
        browser.install_words,
    ),
)


@dataclass(frozen=True)
class Step:
    """One check: what it is called and what it runs."""

    name: str
    command: list[str]


def checks() -> list[Step]:
    """What is looked at before the tests run."""
    python = sys.executable
    lint_imports = Path(sysconfig.get_path("scripts")) / "lint-imports"
    migrations = ["manage.py", "makemigrations", "--check", "--dry-run"]
    return [
        Step("formatting", [python, "-m", "ruff", "format", "--check", "."]),
        Step("lint", [python, "-m", "ruff", "check", "."]),
        Step("import directions", [str(lint_imports)]),
        Step("migrations", [python, *migrations]),
        Step("system check", [python, "manage.py", "check"]),
        Step("types of the science", [python, "-m", "mypy"]),
    ]


def run_tests(words: list[str]) -> int:
    """Run the checks and the tests, or with arguments pytest alone."""
    with tempfile.TemporaryDirectory(prefix="wintering-test-") as folder:
        # The keeper's own data folder takes no part in a test, and the checks that
        # start manage.py stay in this environment, which holds all they need.
        own = {"WINTERING_DATA": folder, "WINTERING_NO_VENV": "1"}
        environ = {**os.environ, **own}
        failed = [] if words else _run(checks(), environ)
        pytest, left_out = pytest_step(words, environ)
        failed += _run([pytest], environ)
    if is_ci(environ):
        failed += [f"{name} tests not run" for name in left_out]
    if failed:
        tell(f"failed: {', '.join(failed)}.")
    return 1 if failed else 0


def _run(steps: list[Step], environ: Mapping[str, str]) -> list[str]:
    """The names of the steps that failed."""
    failed = []
    for step in steps:
        tell(f"{step.name}.")
        if subprocess.run(step.command, cwd=ROOT, env=environ).returncode != 0:
            failed.append(step.name)
    return failed


def pytest_step(words: list[str], environ: dict[str, str]) -> tuple[Step, list[str]]:
    """The test run, and the names of what is not there, whose tests are left out."""
    command = [sys.executable, "-m", "pytest", *words]
    left_out = []
    for need in NEEDS:
        tests = tests_under(need.folder, words)
        found = need.provide() if tests else None
        if found:
            environ[need.variable] = found
        elif tests:
            tell(
                f"not run for want of a {need.name}: {', '.join(tests)}. "
                f"{need.install_words(system_id())}"
            )
            command.append(f"--ignore={need.folder}")
            left_out.append(need.name)
    return Step("tests", command), left_out


def tests_under(folder: Path, words: list[str]) -> list[str]:
    """The files of tests in a folder that pytest would run with these arguments."""
    paths = [ROOT / word.partition("::")[0] for word in words if word[:1] != "-"]
    asked = [path for path in paths if path.exists()] or [ROOT]
    return [
        test.relative_to(folder.parent.parent).as_posix()
        for test in sorted(folder.glob("**/test_*.py"))
        if any(test == path or path in test.parents for path in asked)
    ]


def is_ci(environ: Mapping[str, str]) -> bool:
    return environ.get("CI", "").lower() in {"1", "true"}
