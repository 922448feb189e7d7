"""One run at a time changes .venv; the others wait for it."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from wintering.startup import tell

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

PAUSE_S = 0.2


@contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Hold the lock file at `path`; the system lets go of it if this run is killed."""
    with path.open("a+b") as file:
        if not take(file):
            tell("another run is setting up .venv; waiting for it.")
            while not take(file):
                time.sleep(PAUSE_S)
        yield


def take(file: IO[bytes]) -> bool:
    """Try for the lock, without waiting."""
    try:
        if sys.platform == "win32":
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
