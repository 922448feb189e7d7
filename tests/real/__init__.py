"""Tests on measured series, read where they lie; they are not part of the project."""

import os
from pathlib import Path

ROOT = Path(__file__).parents[2]
REAL_DATA = (ROOT / os.environ.get("WINTERING_REAL_DATA", "../shared/data")).resolve()


def left_out() -> str | None:
    """The line to print where the series are not there."""
    if REAL_DATA.is_dir():
        return None
    return (
        "tests/real left out: no measured series at WINTERING_REAL_DATA "
        "(default ../shared/data beside the project)."
    )
