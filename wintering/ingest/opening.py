"""A surveyed log with its questions answered, and its readings part by part.

The second pass over the file: memory does not grow with it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import tzinfo
from typing import BinaryIO, Self

import numpy as np

from wintering.ingest.cells import UNIT_CODES
from wintering.ingest.clock import zone_of
from wintering.ingest.dates import ORDER_NAMES, Order, leaves_open, settle_order
from wintering.ingest.headings import Unit
from wintering.ingest.placing import Pass, Placed, Placer, clock_text
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.scanning import NO_VALUE, Block, Codes, Int32, Int64, Rejected
from wintering.ingest.stamps import NAIVE, read_stamps
from wintering.ingest.survey import Rejections
from wintering.ingest.surveying import Surveyed, nothing_readable, survey_log
from wintering.ingest.tracks import Tracks
from wintering.ingest.units import Settled, settle_units
from wintering.science.units import TemperatureUnit


@dataclass(frozen=True, slots=True)
class Answers:
    """What a person said about a file, or a frame remembers from the last one."""

    zone: tzinfo | None = None
    date_order: Order | None = None
    # By the way of writing of the logs that they were settled for.
    remembered_orders: Mapping[str, Order] = field(default_factory=dict)
    unit: Unit | None = None
    repeated_hour: Pass | None = None

    @classmethod
    def of(
        cls,
        *,
        zone: str | None = None,
        date_order: Order | None = None,
        remembered_orders: Mapping[str, Order] | None = None,
        unit: Unit | None = None,
        repeated_hour: Pass | None = None,
    ) -> Self:
        try:
            place = zone_of(zone) if zone else None
        except ValueError as error:
            raise LogRefused(str(error)) from error
        return cls(place, date_order, remembered_orders or {}, unit, repeated_hour)


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Some readings of one series."""

    which: int  # of the chosen series
    seconds: Int64
    thousandths: Int32
    row: Int32


class OpenLog:
    """A log of which nothing is left to ask before its readings are taken out.

    What it says of rejected rows and warnings is whole once all parts were taken.
    """

    def __init__(self, seen: Surveyed, answers: Answers) -> None:
        self.seen = seen
        self.name = seen.name
        self.series = seen.chosen
        self.units: tuple[Settled, ...] = settle_units(
            seen.scanner, seen.chosen, answers.unit
        )
        remembered = answers.remembered_orders.get(seen.dialect.way_of_writing)
        self.date_order = settle_order(
            seen.survey.date_keys,
            name=seen.name,
            given=answers.date_order,
            remembered=remembered,
        )
        self.order_is_remembered = (
            answers.date_order is None
            and remembered is not None
            and leaves_open(seen.survey.date_keys)
        )
        self.is_naive = seen.survey.has_naive
        zone = zone_of(seen.dialect.zone) if seen.dialect.zone else answers.zone
        if self.is_naive and zone is None:
            raise LogQuestion(self._which_zone(), about="zone")
        self._placer = Placer(
            seen.survey,
            order=self.date_order,
            zone=zone,
            repeated_hour=answers.repeated_hour,
        )
        self._nameless = Rejections()
        self._has_names = any(series.labels is not None for series in seen.series)
        self._nameless_labels = [
            label
            for label, group in enumerate(seen.survey.labels.groups())
            if group is None
        ]

    @property
    def rejections(self) -> Rejections:
        mine = self._placer.rejections.joined(self._nameless)
        return self.seen.survey.rejections.joined(mine)

    @property
    def warnings(self) -> tuple[str, ...]:
        told = [unit.warning for unit in self.units if unit.warning]
        if self.order_is_remembered and self.date_order:
            told.append(
                f"Dates such as {self.seen.dialect.first_time} are read "
                f"{ORDER_NAMES[self.date_order]}, like this frame's last log with the "
                "same headings."
            )
        return (*told, *self._placer.warnings())

    def placed(self) -> Iterator[Placed]:
        """Rows with their instants, label by label in file order."""
        for block in self.seen.blocks():
            yield from self._placer.place(self._named(block))
        yield from self._placer.place(_no_rows(self.seen), is_last=True)

    def _named(self, block: Block) -> Block:
        """Without the rows that leave out whose they are."""
        if not self._nameless_labels or block.label is None:
            return block
        is_nameless = np.isin(block.label, self._nameless_labels)
        told = [
            Rejected(int(row), "it does not name its sensor")
            for row in block.row[is_nameless]
        ]
        self._nameless.add(told)
        return block.at(~is_nameless)

    def parts(self) -> Iterator[Part]:
        """All readings; refuses a file that has none."""
        is_empty = True
        for placed in self.placed():
            for part in self.parts_of(placed):
                is_empty = False
                yield part
        if is_empty:
            raise LogRefused(nothing_readable(self.name, self.rejections))

    def parts_of(self, placed: Placed) -> Iterator[Part]:
        block = placed.block
        if not self._has_names:
            for which in range(len(self.series)):
                yield from self._part(which, placed, slice(None))
            return
        by_label: dict[int, list[int]] = {}
        for which, series in enumerate(self.series):
            for label in series.labels or ():
                by_label.setdefault(label, []).append(which)
        for label, own in Tracks.of(block.label, len(block)):
            for which in by_label.get(label, ()):
                yield from self._part(which, placed, own)

    def _part(self, which: int, placed: Placed, rows: Int64 | slice) -> Iterator[Part]:
        values = self.values_of(which, placed.block, rows)
        is_there = values != NO_VALUE
        if is_there.all():
            seconds, row = placed.seconds[rows], placed.block.row[rows]
            yield Part(which, seconds, values, row)
        elif is_there.any():
            yield Part(
                which,
                placed.seconds[rows][is_there],
                values[is_there],
                placed.block.row[rows][is_there],
            )

    def values_of(self, which: int, block: Block, rows: Int64 | slice) -> Int32:
        """What some rows hold in the column of a series, in the series' unit."""
        column = self.series[which].which
        values, codes = block.values[column][rows], block.units[column]
        if self.units[which].is_by_row and codes is not None:
            return _in_celsius(values, codes[rows])
        return values

    def _which_zone(self) -> str:
        first = self.seen.dialect.first_time
        if not first or read_stamps([first]).offset_min[0] != NAIVE:
            first = clock_text(self.seen.survey.first_naive(self.date_order))
        return (
            f"{self.name} writes times such as {first} without saying their zone; say "
            "which zone (Europe/Oslo) or offset (-05:00) the logger kept."
        )


def open_log(
    file: BinaryIO,
    *,
    name: str,
    answers: Answers,
    columns: Sequence[str] | None = None,
) -> OpenLog:
    """A log ready to be taken out; raises LogRefused, or LogQuestion to be answered."""
    return OpenLog(survey_log(file, name=name, columns=columns), answers)


def _no_rows(seen: Surveyed) -> Block:
    """A block of nothing, that what waits is let go with."""
    none = np.empty(0, np.int64)
    columns = len(seen.scanner.columns)
    return Block(
        none.astype(np.int32),
        none,
        none,
        none,
        none.astype(np.int32) if seen.dialect.labels else None,
        (none.astype(np.int32),) * columns,
        (None,) * columns,
    )


def _in_celsius(values: Int32, codes: Codes) -> Int32:
    """Thousandths in the unit that each row states, as thousandths of °C."""
    turned = values.copy()
    for unit in ("f", "k"):
        own = (codes == UNIT_CODES.index(unit)) & (values != NO_VALUE)
        if own.any():
            c = TemperatureUnit(unit).to_c(values[own] / 1000)
            turned[own] = np.rint(c * 1000).astype(np.int32)
    return turned
