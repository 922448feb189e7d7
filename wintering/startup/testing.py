"""The word `test`: every check in its order, pytest last so that its line ends all.

python3 manage.py test                      everything
python3 manage.py test tests/science -x     pytest alone, with these arguments
"""

import os
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from wintering.startup import tell
from wintering.startup.browser import install_words, provide_browser, system_id
from wintering.startup.environment import ROOT

BROWSER_TESTS = ROOT / "tests" / "browser"


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
    if left_out and is_ci(environ):
        failed.append("browser tests not run")
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
    """The test run, and the browser tests that must be left out of it."""
    command = [sys.executable, "-m", "pytest", *words]
    tests = browser_tests(words)
    browser = provide_browser() if tests else None
    if browser:
        environ["WINTERING_BROWSER"] = browser
    if browser or not tests:
        return Step("tests", command), []
    tell(
        f"not run for want of a browser: {', '.join(tests)}. "
        f"{install_words(system_id())}"
    )
    return Step("tests", [*command, f"--ignore={BROWSER_TESTS}"]), tests


def browser_tests(words: list[str], folder: Path = BROWSER_TESTS) -> list[str]:
    """The files of browser tests that pytest would run with these arguments."""
    paths = [ROOT / word.partition("::")[0] for word in words if word[:1] != "-"]
    asked = [path for path in paths if path.exists()] or [ROOT]
    return [
        test.relative_to(folder.parent.parent).as_posix()
        for test in sorted(folder.glob("**/test_*.py"))
        if any(test == path or path in test.parents for path in asked)
    ]


def is_ci(environ: Mapping[str, str]) -> bool:
    return environ.get("CI", "").lower() in {"1", "true"}
