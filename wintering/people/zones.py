"""Time zones that people may name."""

from zoneinfo import available_timezones

from django.core.exceptions import ValidationError


def validate_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(
            f"No time zone is called '{name}'. Write it like Europe/Oslo or UTC."
        )
