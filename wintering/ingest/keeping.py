"""The log files themselves, kept compressed under the hash of their bytes.

A copy is written aside and moved into place before the import is committed. A process
that is killed may so leave half a copy, or a copy that no import speaks of: the next
import sweeps them. While an import is under way it holds a lock on the folder, which
the system takes back from a process that dies, so that nobody sweeps a copy that is
just being made.
"""

import gzip
import hashlib
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from wintering.climate.models import LogImport

try:
    import fcntl
except ImportError:  # not on every system; then age alone decides
    fcntl = None  # type: ignore[assignment]

FOLDER = "logs"
_PART_BYTES = 1 << 20
# Logs are digits that repeat: the quickest level packs them to a ninth, and higher ones
# hardly better for many times the work.
_LEVEL = 1
_OLD_S = 86_400  # no import takes a day


@dataclass(slots=True)
class Keeping:
    """A file that is being brought in, and its copy once it is kept."""

    file: BinaryIO
    size: int
    sha256: str
    made: Path | None = field(default=None, init=False)

    @property
    def name(self) -> str:
        """Of the copy, in the files folder."""
        return f"{FOLDER}/{self.sha256}.gz"

    def keep(self) -> None:
        """Put a compressed copy in place, unless there is one."""
        place = Path(settings.MEDIA_ROOT) / self.name
        try:
            os.utime(place)  # so that nobody sweeps it as an old leftover
        except FileNotFoundError:
            self._make(place)

    def _make(self, place: Path) -> None:
        # Written aside and moved into place, so that there is never half a file.
        handle, aside = tempfile.mkstemp(dir=place.parent, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as out:
                self._pack(out)
                out.flush()
                os.fsync(out.fileno())
            self.made = place
            os.replace(aside, place)
        except BaseException:
            Path(aside).unlink(missing_ok=True)
            raise

    def _pack(self, out: BinaryIO) -> None:
        with gzip.GzipFile(
            fileobj=out, mode="wb", filename="", mtime=0, compresslevel=_LEVEL
        ) as packed:
            for part in _parts(self.file, self.size):
                packed.write(part)


@contextmanager
def keeping(file: BinaryIO, size: int) -> Iterator[Keeping]:
    """While a file is being brought in; a failure takes its copy away again."""
    digest = hashlib.sha256()
    for part in _parts(file, size):
        digest.update(part)
    kept = Keeping(file, size, digest.hexdigest())
    with _folder_held() as is_alone:
        try:
            yield kept
        except BaseException:
            # Another import may have come to rely on the same copy meanwhile; while
            # one is under way, it is left for the next to sweep.
            is_new = kept.made is not None and is_alone()
            if is_new and not LogImport.objects.filter(kept=kept.name).exists():
                kept.made.unlink(missing_ok=True)
            raise


@contextmanager
def _folder_held() -> Iterator[Callable[[], bool]]:
    """Leftovers are swept if nobody else is writing; then the folder is shared.

    Gives a function that says whether this process is the only one that writes.
    """
    folder = Path(settings.MEDIA_ROOT) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    if fcntl is None:
        _sweep(folder, older_than_s=_OLD_S)
        yield lambda: True
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        _sweep(folder, older_than_s=0 if _is_alone(handle) else _OLD_S)
        fcntl.flock(handle, fcntl.LOCK_SH)
        yield lambda: _is_alone(handle)
    finally:
        os.close(handle)


def _is_alone(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _sweep(folder: Path, *, older_than_s: int) -> None:
    """Remove half copies, and copies that no import speaks of."""
    latest = time.time() - older_than_s
    found = [path for path in folder.iterdir() if path.suffix in {".part", ".gz"}]
    names = {f"{FOLDER}/{path.name}" for path in found}
    known = set(LogImport.objects.filter(kept__in=names).values_list("kept", flat=True))
    for path in found:
        try:
            is_old = path.stat().st_mtime <= latest
            if is_old and f"{FOLDER}/{path.name}" not in known:
                path.unlink()
        except FileNotFoundError:  # another process was quicker
            continue


def _parts(file: BinaryIO, size: int) -> Iterator[bytes]:
    file.seek(0)
    while size > 0 and (part := file.read(min(_PART_BYTES, size))):
        size -= len(part)
        yield part
