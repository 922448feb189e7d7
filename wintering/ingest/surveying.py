"""The first pass over a log: how it is written, and what its rows tell together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO

from wintering.ingest.columns import Column
from wintering.ingest.labels import Labels
from wintering.ingest.lines import BLOCK_BYTES, blocks
from wintering.ingest.quick import QuickReader
from wintering.ingest.refusals import LogRefused
from wintering.ingest.scanning import Block, Scanner
from wintering.ingest.series import (
    Series,
    all_series,
    choose_series,
    columns_to_read,
)
from wintering.ingest.sniffing import HEAD_BYTES, Dialect, sniff
from wintering.ingest.survey import Rejections, Survey


@dataclass(frozen=True, slots=True, eq=False)
class Surveyed:
    """A file after the first pass."""

    name: str
    file: BinaryIO
    size: int  # what is appended meanwhile is left for the next time
    encoding: str
    scanner: Scanner
    survey: Survey
    series: tuple[Series, ...]  # all that were read
    chosen: tuple[Series, ...]  # the wanted ones
    block_bytes: int

    @property
    def dialect(self) -> Dialect:
        return self.scanner.dialect

    @property
    def all_columns(self) -> tuple[Column | Series, ...]:
        """Everything beside the times: by columns, or in long form by names."""
        is_long = any(series.labels is not None for series in self.series)
        return self.series if is_long else self.dialect.columns

    def blocks(self) -> Iterator[Block]:
        quick = QuickReader(self.scanner)
        for lines in blocks(
            self.file, self.encoding, size=self.size, block_bytes=self.block_bytes
        ):
            rows = lines.after(self.dialect.first_line)
            if rows.data:
                yield quick.read(rows) or self.scanner.read(rows)


def survey_log(
    file: BinaryIO,
    *,
    name: str,
    columns: Sequence[str] | None = None,
    block_bytes: int = BLOCK_BYTES,
) -> Surveyed:
    """The first pass: how the file is written, and what its rows tell together."""
    size = file.seek(0, 2)
    file.seek(0)
    dialect = sniff(file.read(HEAD_BYTES), name)
    try:
        return _surveyed(file, name, dialect, columns, size, block_bytes)
    except UnicodeDecodeError:
        # Plain letters at first and an old code page further down.
        return _surveyed(
            file, name, dialect, columns, size, block_bytes, encoding="latin-1"
        )


def _surveyed(
    file: BinaryIO,
    name: str,
    dialect: Dialect,
    wanted: Sequence[str] | None,
    size: int,
    block_bytes: int,
    *,
    encoding: str | None = None,
) -> Surveyed:
    encoding = encoding or dialect.encoding
    columns = columns_to_read(dialect, wanted, name)
    labels = Labels(name, dialect.labels)
    scanner = Scanner(name, dialect, columns, encoding, labels)
    survey = Survey(name, dialect, len(columns), labels)
    seen = Surveyed(name, file, size, encoding, scanner, survey, (), (), block_bytes)
    for block in seen.blocks():
        survey.add(block)
    if not survey.row_count:
        raise LogRefused(nothing_readable(name, survey.rejections))
    series = all_series(survey, columns)
    chosen = choose_series(series, wanted, name) if dialect.labels else series
    return replace(seen, series=series, chosen=chosen)


def nothing_readable(name: str, rejections: Rejections) -> str:
    why = rejections.first
    found = f": row {why[0].row}: {why[0].reason}" if why else ": every cell is empty"
    return (
        f"{name} has no readable row{found}; expected a date and time and a "
        "temperature in each."
    )
