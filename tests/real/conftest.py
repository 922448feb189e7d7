from pathlib import Path

import pytest

from tests.real import REAL_DATA, left_out

collect_ignore_glob = ["test_*.py"] if left_out() else []


@pytest.fixture(scope="session")
def real_data() -> Path:
    """The folder of measured series."""
    return REAL_DATA
