"""The two locks agree with pyproject.toml and with each other."""

import re
import tomllib

import pytest
from packaging.requirements import Requirement

from wintering.startup.environment import ROOT, RUN_LOCK, TEST_LOCK

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
RUN_NEEDS = PROJECT["project"]["dependencies"]
TEST_NEEDS = PROJECT["dependency-groups"]["test"]


def pins(lock):
    """Each requirement of a lock, and the hashes it may have."""
    text = lock.read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line and line[0] not in "# "]
    return {
        line.partition("--hash")[0].strip(): set(re.findall(r"sha256:\w{64}", line))
        for line in lines
    }


def canonical(name):
    return name.lower().replace("_", "-")


@pytest.mark.parametrize("lock", [RUN_LOCK, TEST_LOCK], ids=["run", "tests"])
def test_every_pin_has_hashes(lock):
    found = pins(lock)
    assert len(found) > len(RUN_NEEDS)
    assert all(found.values())


def test_test_lock_holds_the_run_lock():
    run, tests = pins(RUN_LOCK), pins(TEST_LOCK)
    for pin, hashes in run.items():
        # a pin may apply to more Pythons among the tests' needs, never to fewer
        wider = pin.partition(";")[0].strip()
        assert hashes == tests.get(pin, tests.get(wider)), pin


@pytest.mark.parametrize(
    ("need", "lock"),
    [(need, RUN_LOCK) for need in RUN_NEEDS]
    + [(need, TEST_LOCK) for need in RUN_NEEDS + TEST_NEEDS],
)
def test_lock_satisfies_what_the_project_asks_for(need, lock):
    asked = Requirement(need)
    locked = [Requirement(pin) for pin in pins(lock)]
    versions = [
        next(iter(pin.specifier)).version
        for pin in locked
        if canonical(pin.name) == canonical(asked.name)
    ]
    assert versions
    assert all(asked.specifier.contains(version) for version in versions)
