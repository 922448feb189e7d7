"""The MQTT broker that the tests talk to: mosquitto, found or installed.

WINTERING_BROKER names one that lies elsewhere.
"""

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from wintering.startup import StartupProblem
from wintering.startup.packages import install_package, may_install, system_id

PACKAGE = "mosquitto"
# Where Debian, Homebrew and the Windows installer put it, off the PATH of many people.
PLACES = (
    "/usr/sbin/mosquitto",
    "/usr/local/sbin/mosquitto",
    "/opt/homebrew/sbin/mosquitto",
    r"C:\Program Files\mosquitto\mosquitto.exe",
)

# One command each, by the ID that /etc/os-release gives.
INSTALL_COMMANDS = {
    "debian": "sudo apt-get install mosquitto",
    "raspbian": "sudo apt-get install mosquitto",
    "ubuntu": "sudo apt-get install mosquitto",
    "fedora": "sudo dnf install mosquitto",
    "arch": "sudo pacman -S mosquitto",
    "alpine": "sudo apk add mosquitto",
    "darwin": "brew install mosquitto",
}


def find_broker(
    environ: Mapping[str, str] = os.environ,
    which: Callable[[str], str | None] = shutil.which,
) -> str | None:
    """The path of mosquitto, or None."""
    named = environ.get("WINTERING_BROKER", "")
    if named:
        if not Path(named).is_file():
            raise StartupProblem(
                f"WINTERING_BROKER is '{named}', and no file is there. Write the full "
                "path of mosquitto, or leave it unset."
            )
        return named
    in_place = (place for place in PLACES if Path(place).is_file())
    return which(PACKAGE) or next(in_place, None)


def install_words(system: str) -> str:
    """The one thing to do by hand where no broker is found."""
    command = INSTALL_COMMANDS.get(system)
    if command is None:
        return "Install mosquitto, or set WINTERING_BROKER to its path."
    return f"Install one with: {command}"


def provide_broker() -> str | None:
    """Find mosquitto, or install it where that is possible."""
    found = find_broker()
    if found or not may_install(system_id()):
        return found
    install_package(PACKAGE, purpose="the broker tests")
    return find_broker()
