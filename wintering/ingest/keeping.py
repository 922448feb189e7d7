"""The log files themselves, kept compressed under the hash of their bytes."""

import gzip
import hashlib
import os
import shutil
import tempfile
from pathlib import Path
from typing import BinaryIO

from django.conf import settings


def sha256_of(file: BinaryIO) -> str:
    file.seek(0)
    return hashlib.file_digest(file, "sha256").hexdigest()


def keep(file: BinaryIO, sha256: str) -> tuple[str, bool]:
    """Keep a compressed copy; its name in the files folder, and whether it is new."""
    name = f"logs/{sha256}.gz"
    place = Path(settings.MEDIA_ROOT) / name
    if place.exists():
        return name, False
    place.parent.mkdir(parents=True, exist_ok=True)
    # Written aside and moved into place, so that there is never half a file.
    handle, aside = tempfile.mkstemp(dir=place.parent, suffix=".part")
    try:
        file.seek(0)
        with (
            os.fdopen(handle, "wb") as out,
            gzip.GzipFile(fileobj=out, mode="wb", filename="", mtime=0) as packed,
        ):
            shutil.copyfileobj(file, packed)
        os.replace(aside, place)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise
    return name, True


def discard(name: str) -> None:
    (Path(settings.MEDIA_ROOT) / name).unlink(missing_ok=True)
