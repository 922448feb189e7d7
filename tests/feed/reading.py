"""A strict reader of calendars, written from RFC 5545 and not from the writer.

It refuses what the format forbids, where lenient readers guess.
"""

import re
from dataclasses import dataclass, field

LINE = re.compile(r"([A-Za-z0-9-]+)((?:;[A-Z-]+=[^;:]+)*):(.*)", re.DOTALL)
FORBIDDEN = re.compile("[\x00-\x08\x0a-\x1f\x7f-\x9f]")


@dataclass
class Component:
    name: str
    lines: list[tuple[str, dict[str, str], str]] = field(default_factory=list)
    parts: list["Component"] = field(default_factory=list)

    def __getitem__(self, name):
        """The one value of a property; texts are not unescaped."""
        [value] = [value for known, _, value in self.lines if known == name]
        return value

    def __contains__(self, name):
        return any(known == name for known, _, _ in self.lines)

    def parameters(self, name):
        [given] = [given for known, given, _ in self.lines if known == name]
        return given

    def text(self, name):
        return unescaped(self[name])

    def named(self, name):
        return [part for part in self.parts if part.name == name]


def read(body: bytes) -> Component:
    root = Component("")
    open_parts = [root]
    for line in unfolded(body):
        match = LINE.fullmatch(line)
        assert match, f"not a content line: {line!r}"
        name, given, value = match.groups()
        assert not FORBIDDEN.search(value), f"control character in {line!r}"
        if name == "BEGIN":
            open_parts.append(Component(value))
            open_parts[-2].parts.append(open_parts[-1])
        elif name == "END":
            assert open_parts.pop().name == value
        else:
            pairs = dict(pair.split("=", 1) for pair in given.split(";")[1:])
            open_parts[-1].lines.append((name, pairs, value))
    assert open_parts == [root]
    [calendar] = root.parts
    assert calendar.name == "VCALENDAR"
    assert calendar.parts, "a calendar holds at least one component (3.6)"
    return calendar


def unfolded(body: bytes) -> list[str]:
    assert not body.startswith(b"\xef\xbb\xbf")
    assert body.endswith(b"\r\n")
    lines = body[:-2].split(b"\r\n")
    whole: list[str] = []
    for line in lines:
        assert line.strip(), "an empty line"
        assert b"\r" not in line
        assert b"\n" not in line
        assert len(line) <= 75, f"{len(line)} octets in a line"
        # Each line by itself: a fold never splits a character (3.1).
        decoded = line.decode("utf-8")
        if decoded.startswith((" ", "\t")):
            whole[-1] += decoded[1:]
        else:
            whole.append(decoded)
    return whole


def unescaped(value: str) -> str:
    assert re.fullmatch(r"(?:[^\\;,]|\\[\\;,nN])*", value, re.DOTALL), value
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def events_by_summary(body: bytes) -> dict[str, Component]:
    return {event.text("SUMMARY"): event for event in read(body).named("VEVENT")}
