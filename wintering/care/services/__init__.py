"""What the keeper does for the trees, and what is published of it."""

from wintering.care.services.calendar import publish
from wintering.care.services.feeds import (
    ensure_feed,
    open_feed,
    revoke_feed,
    rotate_feed,
    switch_reminders,
)
from wintering.care.services.rounds import Seen, record_check, record_round

__all__ = [
    "Seen",
    "ensure_feed",
    "open_feed",
    "publish",
    "record_check",
    "record_round",
    "revoke_feed",
    "rotate_feed",
    "switch_reminders",
]
