"""One known series written in many ways, so that what must be read is known."""

from collections.abc import Callable, Sequence
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
class TimeForm:
    name: str
    write: Callable[[datetime], Sequence[str]]
    heading: Sequence[str] = ("time",)
    is_naive: bool = True


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
    TimeForm("day first, slashes", _strftime("%d/%m/%Y %H:%M:%S")),
    TimeForm("day first, dots", _strftime("%d.%m.%Y %H:%M")),
    TimeForm("dots all over", _strftime("%d.%m.%Y %H.%M.%S")),
    TimeForm("day first, short year", _strftime("%d.%m.%y %H:%M")),
    TimeForm("month first", _strftime("%m/%d/%Y %I:%M:%S %p")),
    TimeForm("month first, a.m.", _strftime("%m-%d-%Y %I:%M %p")),
    TimeForm("month by name", _strftime("%d-%b-%Y %H:%M:%S")),
    TimeForm("month by name first", _strftime("%b %d, %Y %H:%M")),
    TimeForm("compact", _strftime("%Y%m%dT%H%M%S")),
    TimeForm(
        "date and time apart",
        lambda at: _strftime("%d.%m.%Y|%H:%M:%S")(at)[0].split("|"),
        heading=("Date", "Time"),
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


def written(
    form: TimeForm,
    *,
    delimiter: str = ",",
    decimal: str = ".",
    unit: UnitForm = UNIT_FORMS[0],
    preamble: Sequence[str] = (),
    line_end: str = "\n",
    quoted: bool = False,
) -> str:
    """The series as the text of a log, with a humidity column to be left alone."""

    def line(cells: Sequence[str]) -> str:
        return delimiter.join(
            f'"{cell}"' if quoted or delimiter in cell else cell for cell in cells
        )

    heading = [
        *form.heading,
        unit.heading.format("air"),
        "humidity (%)",
        unit.heading.format("root"),
    ]
    lines = [*preamble, line(heading)]
    if unit.under:
        lines.append(line([*("" for _ in form.heading), unit.under, "%", unit.under]))
    gaps = cycle(MISSING)
    for at, air, root in zip(TIMES, AIR, ROOT, strict=True):
        cells = [
            next(gaps) if value is None else unit.cell.format(number(value, decimal))
            for value in (air, root)
        ]
        lines.append(line([*form.write(at), cells[0], "87", cells[1]]))
    return line_end.join([*lines, ""])


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
    ]
    preambles = (
        (),
        ("Frost station 7", "Serial{d}20240001", "Started{d}28.11.2024", ""),
        ("sep={d}",),
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
