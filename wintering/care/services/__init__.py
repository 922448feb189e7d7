"""What the keeper does for the trees, and what is published of it."""

from wintering.care.services.rounds import Seen, record_check, record_round

__all__ = ["Seen", "record_check", "record_round"]
