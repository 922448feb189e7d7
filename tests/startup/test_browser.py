"""Which browser the tests drive, and what is said where there is none."""

import pytest

from wintering.startup import StartupProblem, browser


def on_path(*names):
    return {name: f"/usr/bin/{name}" for name in names}.get


def test_chromium_comes_first():
    found = browser.find_browser({}, on_path("msedge", "google-chrome", "chromium"))
    assert found == "/usr/bin/chromium"


@pytest.mark.parametrize("name", browser.NAMES)
def test_each_of_the_family_will_do(name):
    assert browser.find_browser({}, on_path(name)) == f"/usr/bin/{name}"


def test_no_browser_is_none(monkeypatch):
    monkeypatch.setattr(browser, "MAC_PLACES", ())
    assert browser.find_browser({}, on_path()) is None


def test_named_browser_wins(tmp_path):
    mine = tmp_path / "my-chromium"
    mine.touch()
    environ = {"WINTERING_BROWSER": str(mine)}
    assert browser.find_browser(environ, on_path("chromium")) == str(mine)


def test_named_browser_that_is_not_there_is_refused(tmp_path):
    environ = {"WINTERING_BROWSER": str(tmp_path / "gone")}
    with pytest.raises(StartupProblem, match="no file is there"):
        browser.find_browser(environ, on_path("chromium"))


def test_browser_off_the_path_is_found_where_installers_put_it(tmp_path, monkeypatch):
    chrome = tmp_path / "Chromium"
    chrome.touch()
    monkeypatch.setattr(browser, "MAC_PLACES", (str(chrome),))
    assert browser.find_browser({}, on_path()) == str(chrome)


def test_windows_folders_are_looked_through():
    there = browser.places({"PROGRAMFILES": r"C:\Program Files"})
    assert r"C:\Program Files\Google\Chrome\Application\chrome.exe" in there


@pytest.mark.parametrize("system", browser.INSTALL_COMMANDS)
def test_known_system_gets_one_command(system):
    words = browser.install_words(system)
    assert words == f"Install one with: {browser.INSTALL_COMMANDS[system]}"


def test_unknown_system_is_told_what_to_install():
    assert "Chromium, Chrome or Edge" in browser.install_words("plan9")
