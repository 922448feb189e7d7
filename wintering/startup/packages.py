"""What the tests need of the system, installed where that is possible unasked."""

import os
import platform
import shutil
import subprocess
import sys

from wintering.startup import tell

APT_SYSTEMS = ("debian", "raspbian")


def system_id() -> str:
    """The Linux distribution's ID, else the name of the operating system."""
    try:
        return platform.freedesktop_os_release()["ID"].lower()
    except OSError:
        return platform.system().lower()


def may_install(system: str) -> bool:
    """Only root on a Debian gets a package installed unasked."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return is_root and system in APT_SYSTEMS and shutil.which("apt-get") is not None


def install_package(package: str, *, purpose: str) -> None:
    """Install one of Debian's packages; a failure is told, and goes no further."""
    tell(f"installing the package {package} for {purpose}.")
    environ = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (
        ["apt-get", "update"],
        ["apt-get", "install", "-y", "--no-install-recommends", package],
    ):
        if subprocess.run(command, env=environ, stdout=sys.stderr).returncode != 0:
            tell(f"'{' '.join(command)}' failed; its own words are above.")
