"""Reading from the copies of log files that were kept as they came."""

import gzip
import hashlib
import re
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from wintering.climate.models import LogImport
from wintering.ingest.encoding import encoding_of
from wintering.ingest.lines import Lines, blocks, byte_encoding
from wintering.ingest.refusals import LogRefused

_PART = 1 << 20
_HEAD = 128 * 1024
_WHOLE = 2**62
_LINE_END = re.compile(rb"\r\n|\r|\n")
LONGEST_SHOWN = 2000  # bytes of a line; a log's own is far shorter: own choice


def is_kept(log_import: LogImport) -> bool:
    return bool(log_import.kept) and _place(log_import).is_file()


def parts_of(log_import: LogImport) -> Iterator[bytes]:
    """The file's own bytes, a part at a time."""
    with _unpacked(log_import) as file:
        while part := file.read(_PART):
            yield part


@contextmanager
def kept_copy(log_import: LogImport) -> Iterator[BinaryIO]:
    """The file as it came, on disk for a while: a reader moves about in it.

    Refused if it is not the file that its hash belongs to.
    """
    with tempfile.TemporaryFile() as copy:
        told = hashlib.sha256()
        for part in parts_of(log_import):
            told.update(part)
            copy.write(part)
        if told.hexdigest() != log_import.sha256:
            raise LogRefused(
                f"The kept copy of {log_import.file_name} is not the file that came "
                "in: it was damaged or changed. Restore it from a backup, or import "
                "the log from where it came."
            )
        copy.seek(0)
        yield copy


def line_of(log_import: LogImport, row: int) -> str | None:
    """A line of the kept file as it stands there, the first being 1; None if none."""
    with _unpacked(log_import) as file:
        encoding = encoding_of(file.read(_HEAD), log_import.file_name)
        found = _block_with(file, encoding, row)
    if found is None:
        return None
    line = _LINE_END.split(found.after(row).data, maxsplit=1)[0][:LONGEST_SHOWN]
    try:
        return line.decode(byte_encoding(encoding))
    except UnicodeDecodeError:  # letters of an old code page further down
        return line.decode("latin-1")


def _block_with(file: BinaryIO, encoding: str, row: int) -> Lines | None:
    last = None
    for block in blocks(file, encoding, size=_WHOLE):
        if block.first > row:
            return last
        last = block
    return last if last and last.after(row).data else None


@contextmanager
def _unpacked(log_import: LogImport) -> Iterator[BinaryIO]:
    try:
        with gzip.open(_place(log_import)) as file:
            yield file
    except (OSError, EOFError, zlib.error) as error:
        raise LogRefused(
            f"The kept copy of {log_import.file_name} can't be read: restore it from a "
            "backup, or import the log from where it came."
        ) from error


def _place(log_import: LogImport) -> Path:
    return Path(settings.MEDIA_ROOT) / log_import.kept
