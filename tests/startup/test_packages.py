"""What is installed unasked, and for whom."""

import subprocess

import pytest

from wintering.startup import packages


@pytest.mark.parametrize(
    ("system", "user", "apt_get", "may"),
    [
        ("debian", 0, "/usr/bin/apt-get", True),
        ("debian", 1000, "/usr/bin/apt-get", False),
        ("debian", 0, None, False),
        ("ubuntu", 0, "/usr/bin/apt-get", False),
    ],
)
def test_only_root_on_debian_gets_one_installed(
    monkeypatch, system, user, apt_get, may
):
    monkeypatch.setattr(packages.os, "geteuid", lambda: user, raising=False)
    monkeypatch.setattr(packages.shutil, "which", lambda name: apt_get)
    assert packages.may_install(system) is may


def test_package_is_installed_by_apt(monkeypatch, capsys):
    ran = []

    def run(command, *, env, stdout):
        ran.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(packages.subprocess, "run", run)
    packages.install_package("mosquitto", purpose="the broker tests")
    assert ran[-1][-1] == "mosquitto"
    assert [command[1] for command in ran] == ["update", "install"]
    assert "package mosquitto for the broker tests" in capsys.readouterr().err


def test_failed_install_is_told(monkeypatch, capsys):
    def run(command, *, env, stdout):
        return subprocess.CompletedProcess(command, 100)

    monkeypatch.setattr(packages.subprocess, "run", run)
    packages.install_package("mosquitto", purpose="the broker tests")
    assert "'apt-get update' failed" in capsys.readouterr().err
