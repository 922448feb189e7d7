"""The demo winter's data, with its days moved to today."""

import json
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import formats

_DAY_IN_TEXT = re.compile(r"\{(\d{4}-\d{2}-\d{2})\}")


def fixtures() -> Path:
    return Path(settings.BASE_DIR) / "fixtures"


@dataclass(frozen=True)
class Story:
    """What happened in the invented winter, and when that is from now.

    Days are moved by whole weeks so that today lies in the week of the freeze. What
    then lies ahead has not happened.
    """

    told: dict[str, Any]
    now: datetime  # in the frame's time zone

    @classmethod
    def at(cls, now: datetime) -> "Story":
        text = (fixtures() / "demo_winter.json").read_text(encoding="utf-8")
        told = json.loads(text)
        return cls(told, now.astimezone(ZoneInfo(told["time_zone"])))

    @cached_property
    def shift(self) -> timedelta:
        """Whole weeks between the story's days and today's."""
        this_week = self.now.date() - timedelta(days=self.now.weekday())
        return this_week - date.fromisoformat(self.told["freeze_week"])

    def day(self, text: str | None) -> date | None:
        """A day of the story, such as 2024-11-17 or the one of 2024-11-17T11:20."""
        return date.fromisoformat(text[:10]) + self.shift if text else None

    def moment(self, text: str) -> datetime:
        """A moment of the story on the frame's wall clock; a bare day is its start."""
        moved = datetime.fromisoformat(text) + self.shift
        return moved.replace(tzinfo=self.now.tzinfo)

    def has_come(self, text: str) -> bool:
        return self.moment(text) <= self.now

    def words(self, text: str) -> str:
        """A text of the story with its {days} moved."""
        return _DAY_IN_TEXT.sub(
            lambda found: formats.date_format(self.day(found[1]), "j F Y"), text
        )
