"""Where a broker is and what is listened to there, as written on the command line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Self
from urllib.parse import unquote, urlsplit

# What a plain number is measured in; SenML says so itself.
UNITS = {"c": "Cel", "f": "degF", "k": "K", "pct": "%RH"}

_PORTS = {"mqtt": 1883, "mqtts": 8883}  # IANA's registry of service names and ports


@dataclass(frozen=True, slots=True)
class Broker:
    """A broker's address; the password is no part of what is shown."""

    host: str
    port: int
    is_tls: bool
    user: str | None = None
    password: str | None = field(default=None, repr=False)

    def __str__(self) -> str:
        return f"{self.host}:{self.port}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """mqtt://[user@]host[:port], or mqtts:// for an encrypted connection."""
        url = urlsplit(text)
        if url.password is not None:
            raise ValueError(
                "a password does not belong on the command line, where others can "
                "read it; put it into WINTERING_MQTT_PASSWORD"
            )
        if url.scheme not in _PORTS or not url.hostname:
            raise ValueError(
                f"'{text}' is no broker; write it like mqtt://user@host:1883, or "
                "mqtts://user@host:8883"
            )
        if url.path.strip("/") or url.query or url.fragment:
            raise ValueError("topics are given by --topic, not in the broker's address")
        user = unquote(url.username) if url.username else None
        port = url.port or _PORTS[url.scheme]
        return cls(url.hostname, port, url.scheme == "mqtts", user)


def password_in(environ: Mapping[str, str]) -> str | None:
    """The password from its variable, or from the file that another one names."""
    given = environ.get("WINTERING_MQTT_PASSWORD")
    path = environ.get("WINTERING_MQTT_PASSWORD_FILE")
    if given or not path:
        return given or None
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except OSError as error:
        raise ValueError(
            f"WINTERING_MQTT_PASSWORD_FILE names {path}, which cannot be read "
            f"({error.strerror}); name the file that holds the password."
        ) from error


@dataclass(frozen=True, slots=True)
class Topics:
    """A topic filter, and the unit of the plain numbers that come in under it."""

    filter: str
    unit: str | None = None  # one of UNITS' values

    @classmethod
    def parse(cls, text: str) -> Self:
        """FILTER or FILTER=UNIT."""
        before, equals, unit = text.rpartition("=")
        if equals and unit in UNITS:
            return cls(_checked(before), UNITS[unit])
        return cls(_checked(text))

    def holds(self, topic: str) -> bool:
        """Whether a topic falls under the filter (MQTT 5.0, section 4.7)."""
        wanted, levels = self.filter.split("/"), topic.split("/")
        if levels[0].startswith("$") and wanted[0] in {"+", "#"}:
            return False
        if wanted[-1] == "#":
            wanted = wanted[:-1]
            levels = levels[: len(wanted)]
        return len(wanted) == len(levels) and all(
            level in {"+", name} for level, name in zip(wanted, levels, strict=True)
        )


def unit_of(topic: str, listened: Sequence[Topics]) -> str | None:
    """The unit of plain numbers under a topic: the first filter that fits says it."""
    return next((one.unit for one in listened if one.holds(topic)), None)


def _checked(text: str) -> str:
    levels = text.split("/")
    wild = [level for level in levels if "#" in level or "+" in level]
    is_misused = any(level not in {"#", "+"} for level in wild) or "#" in levels[:-1]
    if not text or "\0" in text or is_misused:
        raise ValueError(
            f"'{text}' is no topic filter; + stands for one whole level, and # for "
            "all that are left, at the end"
        )
    return text
