from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[1] / "data" / "logs"


@pytest.fixture
def log_file(tmp_path):
    """Writes lines as a log and gives its path."""

    def write(*lines, name="log.csv"):
        path = tmp_path / name
        path.write_text("\n".join([*lines, ""]), encoding="utf-8")
        return path

    return write
