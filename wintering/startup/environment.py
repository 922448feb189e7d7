"""The environment in .venv: made once, kept as the locks say, and entered.

WINTERING_NO_VENV=1 leaves all of this out, for those who run Wintering in an
environment of their own (a container image, one made by another tool).
"""

import importlib.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

from wintering.startup import StartupProblem, tell
from wintering.startup.pip_words import failure_words
from wintering.startup.record import (
    FILE_NAME,
    UNFINISHED,
    Needed,
    Record,
    needed,
    read,
    stamp,
    write,
)
from wintering.startup.turns import one_at_a_time

ROOT = Path(__file__).resolve().parents[2]
VENV = ROOT / ".venv"
TURNS = ROOT / ".venv.lock"
RUN_LOCK = ROOT / "requirements.txt"
TEST_LOCK = ROOT / "tests" / "requirements.txt"

NO_PIP = (
    "This Python lacks the module {module}, so .venv cannot be made. "
    "On Debian or Ubuntu run 'sudo apt install python3-venv', elsewhere install a "
    "complete Python; then run the same command again."
)
PIP_REFUSED = (
    "pip could not be put into .venv; the words of Python's ensurepip are above. "
    "On Debian or Ubuntu run 'sudo apt install --reinstall python3-venv', then run "
    "the same command again."
)
NO_DJANGO = (
    "WINTERING_NO_VENV is set, but this Python has no Django. Install "
    "requirements.txt into it, or leave WINTERING_NO_VENV unset."
)
NOT_OURS = (
    "The folder .venv was not made by manage.py, so it is left as it is. Move it "
    "away, or use it by setting WINTERING_NO_VENV=1 and starting manage.py with its "
    "own Python."
)
FROM_INSIDE = (
    "The environment in .venv must be made again, and this Python is the one inside "
    "it. Leave it with 'deactivate' and run 'python3 manage.py' again."
)


def enter(lock: Path) -> None:
    """Return in an environment that holds this lock's packages, or hand over to it."""
    if stays_outside(os.environ):
        if importlib.util.find_spec("django") is None:
            raise StartupProblem(NO_DJANGO)
        return
    try:
        provide(lock)
    except OSError as error:
        where = error.filename or VENV
        raise StartupProblem(
            f"Setting up .venv failed at {where}: {error.strerror}. "
            "Put that right and run the same command again."
        ) from error
    if not is_inside():
        hand_over()


def stays_outside(environ: Mapping[str, str]) -> bool:
    """Whether the person brings an environment of their own."""
    word = environ.get("WINTERING_NO_VENV", "").strip().lower()
    if word in {"1", "yes", "true", "on"}:
        return True
    if word in {"", "0", "no", "false", "off"}:
        return False
    raise StartupProblem(f"WINTERING_NO_VENV is '{word}': write yes or no.")


def provide(lock: Path) -> None:
    """Bring .venv to what the lock says, and nothing if it is there already."""
    if _lacks(lock) is Needed.NOTHING:
        return
    with one_at_a_time(TURNS):
        started_s = time.monotonic()
        lacking = _lacks(lock)  # another run may just have finished
        if lacking is Needed.MAKE:
            make()
        if lacking is not Needed.NOTHING:
            install(lock)
            tell(f"ready after {time.monotonic() - started_s:.0f} s.")


def _lacks(lock: Path) -> Needed:
    # the first is also missing where it is a link to a Python that is gone
    if not venv_python().exists() or not (VENV / "pyvenv.cfg").exists():
        return Needed.MAKE
    name = lock.relative_to(ROOT).as_posix()
    return needed(read(VENV), name=name, lock=lock.read_bytes(), python=sys.version)


def make() -> None:
    """Make .venv anew; only one that manage.py made is cleared away for it."""
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise StartupProblem(NO_PIP.format(module=module))
    import venv  # not in every Python, as just checked

    clear_away()
    version = ".".join(map(str, sys.version_info[:3]))
    tell(f"making .venv with Python {version}; this once, the network is needed.")
    VENV.mkdir()
    write(VENV, UNFINISHED)
    try:
        venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(VENV)
    except subprocess.CalledProcessError as error:
        sys.stderr.write((error.output or b"").decode(errors="replace"))
        raise StartupProblem(PIP_REFUSED) from error
    write(VENV, Record(python=sys.version))


def clear_away() -> None:
    """Remove a .venv that no longer serves, its record last, so that it stays ours."""
    if not VENV.exists():
        return
    found = read(VENV)
    content = [path for path in VENV.iterdir() if not path.name.startswith(FILE_NAME)]
    if content and found is None:
        raise StartupProblem(NOT_OURS)
    if is_inside():
        raise StartupProblem(FROM_INSIDE)
    is_unfinished = found in (None, UNFINISHED)
    why = "the last set-up was interrupted" if is_unfinished else "Python has changed"
    tell(f"{why}; .venv is made again.")
    write(VENV, UNFINISHED)
    for path in content:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    shutil.rmtree(VENV)


def install(lock: Path) -> None:
    """Install the lock; an interrupted install leaves UNFINISHED behind."""
    name = lock.relative_to(ROOT).as_posix()
    record = read(VENV)
    assert record is not None, "install follows make, which leaves a record"
    tell(f"installing the packages of {name} into .venv.")
    write(VENV, UNFINISHED)
    before = _changed_at()
    code, output = run_pip(pip_command(lock))
    if code != 0:
        if _changed_at() == before:  # nothing was touched: what was there still holds
            write(VENV, record)
        raise StartupProblem(failure_words(output, name))
    fresh = stamp(lock.read_bytes(), sys.version)
    write(VENV, Record(record.python, {**record.stamps, name: fresh}))


def _changed_at() -> list[int]:
    """When the folders of packages last changed; pip downloads before it touches."""
    folders = [*VENV.glob("lib/python*/site-packages"), VENV / "Lib/site-packages"]
    return [path.stat().st_mtime_ns for path in folders if path.exists()]


def pip_command(lock: Path) -> list[str]:
    options = ["--require-hashes", "--only-binary", ":all:", "--no-input"]
    options += ["--disable-pip-version-check", "--progress-bar", "off"]
    return [str(venv_python()), "-m", "pip", "install", *options, "-r", str(lock)]


def run_pip(command: list[str]) -> tuple[int, str]:
    """Run pip with its words on stderr; keep them to read the cause of a failure."""
    environ = {**os.environ, "PIP_USER": "0"}
    with subprocess.Popen(
        command,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    ) as pip:
        assert pip.stdout is not None, "asked for as a pipe above"
        lines = []
        for line in pip.stdout:
            sys.stderr.write(line)
            lines.append(line)
    return pip.returncode, "".join(lines)


def venv_python() -> Path:
    if os.name == "nt":
        return VENV / "Scripts" / "python.exe"
    return VENV / "bin" / "python"


def is_inside() -> bool:
    return Path(sys.prefix).resolve() == VENV.resolve()


def hand_over() -> None:
    """Go on as the environment's own Python."""
    command = [str(venv_python()), *sys.argv]
    os.environ.pop("PYTHONHOME", None)  # it would lead back to the Python outside
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "nt":  # execv there returns to the shell before the work is done
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)  # noqa: S606 - no shell is wanted
