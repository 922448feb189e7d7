"""One known series written in many ways, so that what must be read is known."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from itertools import cycle

STEP = timedelta(minutes=30)
FIRST = datetime(2024, 11, 28, 22, 30, tzinfo=UTC)
ROWS = 60  # into 30 November, so that days above 12 settle the date order
ZONE = "+02:00"
LOCAL = timezone(timedelta(hours=2))

# Thousandths of a degree; None where nothing was recorded.
AIR = [None if i % 17 == 5 else -4200 + 137 * i for i in range(ROWS)]
ROOT = [900 + (i % 7) * 10 for i in range(ROWS)]
TIMES = [FIRST + i * STEP for i in range(ROWS)]
SECONDS = [int(at.timestamp()) for at in TIMES]

MISSING = ("", "NAN", "--", "n/a", "-9999", "NULL")


@dataclass(frozen=True)
class Known:
    """A series whose readings are known, to be written in many ways."""

    times: Sequence[datetime]
    columns: dict[str, Sequence[int | None]]  # thousandths

    @property
    def seconds(self) -> list[int]:
        return [int(at.timestamp()) for at in self.times]


KNOWN = Known(TIMES, {"air": AIR, "root": ROOT})


@dataclass(frozen=True)
class TimeForm:
    name: str
    write: Callable[[datetime], Sequence[str]]
    heading: Sequence[str] = ("time",)
    is_naive: bool = True
    order: str | None = None  # of its dates, where they do not say it

    def heading_between(self, delimiter: str) -> list[str]:
        """Between spaces, a date and a time of day are two columns."""
        if delimiter == " " and len(self.heading) == 1:
            return ["date", "time"][-len(self.write(FIRST)[0].split()) :]
        return list(self.heading)


def _strftime(form: str) -> Callable[[datetime], Sequence[str]]:
    return lambda at: [at.astimezone(LOCAL).strftime(form)]


def _no_zeros(at: datetime) -> Sequence[str]:
    at = at.astimezone(LOCAL)
    return [f"{at.year}/{at.month}/{at.day} {at.hour}:{at.minute:02}"]


FORMS = (
    TimeForm("iso with a space", _strftime("%Y-%m-%d %H:%M")),
    TimeForm("iso with seconds", _strftime("%Y-%m-%dT%H:%M:%S")),
    TimeForm("fractions", _strftime("%Y-%m-%d %H:%M:%S.000")),
    TimeForm("no zeros", _no_zeros),
    TimeForm("day first, slashes", _strftime("%d/%m/%Y %H:%M:%S"), order="dmy"),
    TimeForm("day first, dots", _strftime("%d.%m.%Y %H:%M"), order="dmy"),
    TimeForm("dots all over", _strftime("%d.%m.%Y %H.%M.%S"), order="dmy"),
    TimeForm("day first, short year", _strftime("%d.%m.%y %H:%M"), order="dmy"),
    TimeForm("month first", _strftime("%m/%d/%Y %I:%M:%S %p"), order="mdy"),
    TimeForm("month first, a.m.", _strftime("%m-%d-%Y %I:%M %p"), order="mdy"),
    TimeForm("month by name", _strftime("%d-%b-%Y %H:%M:%S")),
    TimeForm("month by name first", _strftime("%b %d, %Y %H:%M")),
    TimeForm("compact", _strftime("%Y%m%dT%H%M%S")),
    TimeForm(
        "date and time apart",
        lambda at: _strftime("%d.%m.%Y|%H:%M:%S")(at)[0].split("|"),
        heading=("Date", "Time"),
        order="dmy",
    ),
    TimeForm(
        "date with midnight, and time",
        lambda at: _strftime("%Y-%m-%d 00:00:00|%H:%M")(at)[0].split("|"),
        heading=("Date", "Time"),
    ),
    TimeForm(
        "Z",
        lambda at: [at.strftime("%Y-%m-%dT%H:%M:%SZ")],
        is_naive=False,
    ),
    TimeForm(
        "offset",
        lambda at: [at.astimezone(LOCAL).isoformat(" ", "minutes")],
        is_naive=False,
    ),
    TimeForm("short offset", _strftime("%Y-%m-%dT%H:%M:%S%z"), is_naive=False),
    TimeForm(
        "offset in the heading",
        _strftime("%Y-%m-%d %H:%M"),
        heading=("Date Time (UTC+02:00)",),
        is_naive=False,
    ),
    TimeForm(
        "UTC in the heading",
        lambda at: [at.strftime("%Y-%m-%d %H:%M")],
        heading=("timestamp_utc",),
        is_naive=False,
    ),
    TimeForm(
        "seconds since 1970", lambda at: [str(int(at.timestamp()))], is_naive=False
    ),
    TimeForm(
        "milliseconds since 1970",
        lambda at: [str(int(at.timestamp() * 1000))],
        is_naive=False,
    ),
)


@dataclass(frozen=True)
class UnitForm:
    """How a unit is said: in the heading, or in every cell."""

    heading: str  # with {} for the column's name
    cell: str = "{}"
    unit: str = "c"
    under: str = ""  # in a row of units under the headings


GROUPS = ("groups",)  # instead of a preamble: a row of groups above the headings

UNIT_FORMS = (
    UnitForm("{}_c"),
    UnitForm("{} (°C)"),
    UnitForm("{} [deg F]", unit="f"),
    UnitForm("{}", cell="{} °C"),
    UnitForm("{}", cell="{}°F", unit="f"),
    UnitForm("{} Celsius"),
    UnitForm("{} in K", unit="k"),
    UnitForm("{}", under="°C"),
)


def number(thousandths: int, decimal: str) -> str:
    whole, part = divmod(abs(thousandths), 1000)
    text = f"{'-' if thousandths < 0 else ''}{whole}"
    digits = f"{part:03}".rstrip("0")
    return f"{text}{decimal}{digits}" if digits else text


@dataclass(frozen=True)
class Writing:
    """Cells and lines in one way of writing."""

    delimiter: str
    decimal: str
    unit: UnitForm
    quoted: bool
    gaps: Iterator[str]  # what stands where nothing was recorded

    def line(self, cells: Sequence[str]) -> str:
        is_plain = self.delimiter == " "
        return self.delimiter.join(
            f'"{cell}"'
            if self.quoted or (self.delimiter in cell and not is_plain)
            else cell
            for cell in cells
        )

    def cell(self, value: int | None) -> str:
        if value is None:
            return next(self.gaps)
        return self.unit.cell.format(number(value, self.decimal))


def written(
    form: TimeForm,
    *,
    known: Known = KNOWN,
    delimiter: str = ",",
    decimal: str = ".",
    unit: UnitForm = UNIT_FORMS[0],
    preamble: Sequence[str] = (),
    line_end: str = "\n",
    quoted: bool = False,
    is_long: bool = False,
) -> str:
    """The series as the text of a log, with a humidity column to be left alone."""
    gaps = cycle(MISSING[1:] if delimiter == " " else MISSING)
    way = Writing(delimiter, decimal, unit, quoted, gaps)
    before = [*preamble]
    if tuple(preamble) == GROUPS:
        blank = ["" for _ in form.heading_between(delimiter)]
        width = 2 if is_long else len(known.columns) + 1
        before = [way.line([*blank, *["Long frame"] * width])]
    table = long_table if is_long else wide_table
    return line_end.join([*before, *table(way, form, known), ""])


def long_table(way: Writing, form: TimeForm, known: Known) -> Iterator[str]:
    """A row for each reading, which names its sensor."""
    heading = form.heading_between(way.delimiter)
    yield way.line([*heading, "sensor", way.unit.heading.format("value")])
    if way.unit.under:
        yield way.line([*["" for _ in heading], "", way.unit.under])
    for at, *values in zip(known.times, *known.columns.values(), strict=True):
        for name, value in zip(known.columns, values, strict=True):
            yield way.line([*form.write(at), name, way.cell(value)])


def wide_table(way: Writing, form: TimeForm, known: Known) -> Iterator[str]:
    """A column for each sensor, and one of humidity behind the first."""
    heading, unit = form.heading_between(way.delimiter), way.unit
    first, *rest = [unit.heading.format(name) for name in known.columns]
    aside = "humidity_pct" if way.delimiter == " " else "humidity (%)"
    yield way.line([*heading, first, aside, *rest])
    if unit.under:
        blank = ["" for _ in heading]
        yield way.line([*blank, unit.under, "%", *[unit.under for _ in rest]])
    for at, *values in zip(known.times, *known.columns.values(), strict=True):
        shown = [way.cell(value) for value in values]
        yield way.line([*form.write(at), shown[0], "87", *shown[1:]])


def fits(form: TimeForm, way: dict[str, object]) -> bool:
    """Whether a way of writing leaves the file without a doubt.

    Between spaces nothing may hold a space but a date and its time of day, and no cell
    may be empty.
    """
    if way["delimiter"] != " ":
        return True
    unit = way["unit"]
    assert isinstance(unit, UnitForm)
    has_words = any(
        word in form.name for word in ("name", "heading", "midnight", "dots all")
    )
    has_spaces = " " in unit.heading + unit.cell
    is_grouped = tuple(way["preamble"]) == GROUPS  # type: ignore[arg-type]
    return not (is_grouped or has_words or has_spaces or unit.under)


def every_way() -> list[dict[str, object]]:
    """Delimiters, decimal marks and line ends that occur together."""
    ways = [
        {"delimiter": ","},
        {"delimiter": ",", "quoted": True, "line_end": "\r\n"},
        {"delimiter": ",", "decimal": ","},
        {"delimiter": ";", "decimal": ","},
        {"delimiter": ";", "decimal": ".", "line_end": "\r\n"},
        {"delimiter": "\t", "decimal": ","},
        {"delimiter": "\t", "line_end": "\r"},
        {"delimiter": "|"},
        {"delimiter": "|", "decimal": ",", "line_end": "\r\n"},
        {"delimiter": " ", "decimal": ","},
        {"delimiter": " ", "line_end": "\r\n"},
    ]
    preambles = (
        (),
        ("Frost station 7", "Serial{d}20240001", "Started{d}28.11.2024", ""),
        ("sep={d}",),
        GROUPS,
    )
    units = cycle(UNIT_FORMS)
    return [
        {
            **way,
            "preamble": [text.format(d=way["delimiter"]) for text in preamble],
            "unit": next(units),
        }
        for way in ways
        for preamble in preambles
    ]
