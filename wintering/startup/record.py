"""What .venv says about itself: which Python made it and which locks it holds."""

import hashlib
import json
import os
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path
from typing import Any

FILE_NAME = "wintering.json"


class Needed(Enum):
    """What must be done before a lock's packages can be used."""

    NOTHING = "nothing"
    INSTALL = "install"
    MAKE = "make"


@dataclass(frozen=True)
class Record:
    """A finished .venv. While one is being changed, UNFINISHED lies in its place."""

    python: str
    stamps: dict[str, str] = field(default_factory=dict)


UNFINISHED = Record(python="")


def stamp(lock: bytes, python: str) -> str:
    return hashlib.sha256(lock + python.encode()).hexdigest()


def read(venv: Path) -> Record | None:
    """The record in `venv`; None if there is none or it cannot be read as one."""
    try:
        found: Any = json.loads((venv / FILE_NAME).read_text(encoding="utf-8"))
        return Record(python=found["python"], stamps=dict(found["stamps"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def write(venv: Path, record: Record) -> None:
    """Replace the record at once, so that no other run reads half of it."""
    text = json.dumps({"python": record.python, "stamps": record.stamps}, indent=2)
    fresh = venv / f"{FILE_NAME}.new"
    fresh.write_text(text + "\n", encoding="utf-8")
    os.replace(fresh, venv / FILE_NAME)


def needed(record: Record | None, *, name: str, lock: bytes, python: str) -> Needed:
    """What the environment of this record lacks for the lock called `name`."""
    if record is None or record.python != python:
        return Needed.MAKE
    if record.stamps.get(name) != stamp(lock, python):
        return Needed.INSTALL
    return Needed.NOTHING
