"""Which broker the tests talk to, and what is said where there is none."""

import pytest

from wintering.startup import StartupProblem, broker


def test_broker_on_the_path_is_found():
    found = broker.find_broker({}, {"mosquitto": "/usr/sbin/mosquitto"}.get)
    assert found == "/usr/sbin/mosquitto"


def test_broker_off_the_path_is_found_where_installers_put_it(tmp_path, monkeypatch):
    mine = tmp_path / "mosquitto"
    mine.touch()
    monkeypatch.setattr(broker, "PLACES", (str(mine),))
    assert broker.find_broker({}, {}.get) == str(mine)


def test_no_broker_is_none(monkeypatch):
    monkeypatch.setattr(broker, "PLACES", ())
    assert broker.find_broker({}, {}.get) is None


def test_named_broker_wins(tmp_path):
    mine = tmp_path / "my-mosquitto"
    mine.touch()
    environ = {"WINTERING_BROKER": str(mine)}
    assert broker.find_broker(environ, {"mosquitto": "other"}.get) == str(mine)


def test_named_broker_that_is_not_there_is_refused(tmp_path):
    environ = {"WINTERING_BROKER": str(tmp_path / "gone")}
    with pytest.raises(StartupProblem, match="no file is there"):
        broker.find_broker(environ, {}.get)


@pytest.mark.parametrize("system", broker.INSTALL_COMMANDS)
def test_known_system_gets_one_command(system):
    words = broker.install_words(system)
    assert words == f"Install one with: {broker.INSTALL_COMMANDS[system]}"


def test_unknown_system_is_told_what_to_install():
    assert "Install mosquitto" in broker.install_words("plan9")


def test_root_on_debian_gets_it_installed(monkeypatch):
    installed = []
    monkeypatch.setattr(broker, "find_broker", lambda: None if not installed else "it")
    monkeypatch.setattr(broker, "may_install", lambda system: True)
    monkeypatch.setattr(
        broker, "install_package", lambda name, purpose: installed.append(name)
    )
    assert broker.provide_broker() == "it"
    assert installed == ["mosquitto"]
