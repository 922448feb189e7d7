"""The browser that the tests drive: any of the Chromium family, found or installed.

WINTERING_BROWSER names one that lies elsewhere.
"""

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from wintering.startup import StartupProblem
from wintering.startup.packages import install_package, may_install, system_id

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
MAC_PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)
WINDOWS_PLACES = (
    r"Google\Chrome\Application\chrome.exe",
    r"Microsoft\Edge\Application\msedge.exe",
)
WINDOWS_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")

# One command each, by the ID that /etc/os-release gives.
INSTALL_COMMANDS = {
    "debian": "sudo apt-get install chromium",
    "raspbian": "sudo apt-get install chromium",
    "ubuntu": "sudo snap install chromium",
    "fedora": "sudo dnf install chromium",
    "arch": "sudo pacman -S chromium",
    "alpine": "sudo apk add chromium",
    "darwin": "brew install --cask chromium",
    "windows": "winget install Microsoft.Edge",
}


def find_browser(
    environ: Mapping[str, str] = os.environ,
    which: Callable[[str], str | None] = shutil.which,
) -> str | None:
    """The path of a browser, or None."""
    named = environ.get("WINTERING_BROWSER", "")
    if named:
        if not Path(named).is_file():
            raise StartupProblem(
                f"WINTERING_BROWSER is '{named}', and no file is there. Write the full "
                "path of a Chromium, Chrome or Edge, or leave it unset."
            )
        return named
    on_path = (which(name) for name in NAMES)
    in_place = (place for place in places(environ) if Path(place).is_file())
    return next(filter(None, on_path), None) or next(in_place, None)


def places(environ: Mapping[str, str]) -> list[str]:
    """Where installers put browsers on systems that keep them off the PATH."""
    folders = [environ[name] for name in WINDOWS_FOLDERS if environ.get(name)]
    return [
        *MAC_PLACES,
        *(f"{f}\\{place}" for f in folders for place in WINDOWS_PLACES),
    ]


def install_words(system: str) -> str:
    """The one thing to do by hand where no browser is found."""
    command = INSTALL_COMMANDS.get(system)
    if command is None:
        return "Install Chromium, Chrome or Edge, or set WINTERING_BROWSER to its path."
    return f"Install one with: {command}"


def provide_browser() -> str | None:
    """Find a browser, or install one where that is possible."""
    found = find_browser()
    if found or not may_install(system_id()):
        return found
    install_package("chromium", purpose="the browser tests")
    return find_browser()
