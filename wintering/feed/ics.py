"""Events as text: iCalendar (RFC 5545, RFC 7986), the same bytes every time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Alarm, Calendar, Event, vDuration, vText
from icalendar.enums import STATUS, TRANSP

# Both are fixed for good: programs know calendars and events by them.
PRODUCT = "-//Wintering//Wintering calendar 1//EN"
DOMAIN = "calendar.wintering.invalid"

REFRESH = timedelta(hours=6)
COLOUR = "darkolivegreen"
LONGEST_NAME, LONGEST_SUMMARY, LONGEST_TEXT = 80, 120, 2000

# Control characters are forbidden in text; line ends of other worlds become ours.
CONTROLS = [*range(0x20), 0x7F, *range(0x80, 0xA0)]
DROPPED = {code: None for code in CONTROLS if code not in (0x09, 0x0A, 0x0D)}
DROPPED[0xFEFF] = None  # a mark of byte order, which readers take away at the start
LINE_ENDS = {0x2028: "\n", 0x2029: "\n"}


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as it is written.

    start, end     dates of whole days, or aware instants; the end is not included
    changed_at     when anything that shows last changed
    remind_before  of the start; none on what is cancelled
    """

    uid: str
    sequence: int
    changed_at: datetime
    start: date | datetime
    end: date | datetime
    summary: str
    description: str = ""
    location: str = ""
    categories: tuple[str, ...] = ()
    is_tentative: bool = False
    is_cancelled: bool = False
    remind_before: timedelta | None = None


def render(name: str, entries: Iterable[Entry]) -> bytes:
    """A whole calendar. The order of the entries does not matter."""
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODUCT)
    # Set as plain text: the library's own way leaves commas in names unescaped.
    for word in ("NAME", "X-WR-CALNAME"):
        calendar[word] = vText(one_line(name, LONGEST_NAME))
    calendar.add("COLOR", COLOUR)
    refresh = vDuration(REFRESH)
    refresh.params["VALUE"] = "DURATION"
    calendar["REFRESH-INTERVAL"] = refresh
    calendar["X-PUBLISHED-TTL"] = vDuration(REFRESH)
    for entry in sorted(entries, key=lambda entry: entry.uid):
        calendar.add_component(_event(entry))
    return calendar.to_ical()


def _event(entry: Entry) -> Event:
    start, end = _whole(entry.start), _whole(entry.end)
    if type(start) is not type(end) or not start < end:
        raise ValueError(f"{entry.uid} must end after it starts, and in like terms.")
    changed_at = _whole(entry.changed_at)
    summary = entry.summary
    if entry.is_cancelled:
        summary = f"Cancelled: {summary}"
    event = Event()
    event.add("UID", entry.uid)
    # Without METHOD both mean when the event was last revised (RFC 5545, 3.8.7.2).
    event.add("DTSTAMP", changed_at)
    event.add("LAST-MODIFIED", changed_at)
    event.add("SEQUENCE", entry.sequence)
    event.add("DTSTART", start)
    event.add("DTEND", end)
    event.add("SUMMARY", one_line(summary, LONGEST_SUMMARY))
    if description := text(entry.description, LONGEST_TEXT):
        event.add("DESCRIPTION", description)
    if location := one_line(entry.location, LONGEST_NAME):
        event.add("LOCATION", location)
    if entry.categories:
        event.add("CATEGORIES", list(entry.categories))
    event.add("STATUS", _status(entry))
    # A stay of five months does not make its reader busy.
    event.add("TRANSP", TRANSP.TRANSPARENT)
    if entry.remind_before and not entry.is_cancelled:
        event.add_component(_alarm(summary, entry.remind_before))
    return event


def _alarm(summary: str, before: timedelta) -> Alarm:
    """One alarm, before the start: some programs drop the sign of a later one."""
    if before <= timedelta():
        raise ValueError("A reminder comes before what it reminds of.")
    alarm = Alarm()
    alarm.add("ACTION", "DISPLAY")
    alarm.add("DESCRIPTION", one_line(summary, LONGEST_SUMMARY))
    alarm.add("TRIGGER", -before)
    return alarm


def _status(entry: Entry) -> STATUS:
    if entry.is_cancelled:
        return STATUS.CANCELLED
    return STATUS.TENTATIVE if entry.is_tentative else STATUS.CONFIRMED


def _whole(moment: date | datetime) -> date | datetime:
    """Days as they are; instants in UTC and whole seconds, so that no zone is named."""
    if not isinstance(moment, datetime):
        return moment
    if moment.utcoffset() is None:
        raise ValueError(f"{moment} names no time zone.")
    return moment.astimezone(UTC).replace(microsecond=0)


def text(words: str, longest: int) -> str:
    """Words as the format bears them: no control characters, one kind of line end."""
    plain = words.replace("\r\n", "\n").replace("\r", "\n")
    return plain.translate(DROPPED | LINE_ENDS).strip()[:longest].rstrip()


def one_line(words: str, longest: int) -> str:
    return " ".join(text(words, len(words)).split())[:longest].rstrip()
