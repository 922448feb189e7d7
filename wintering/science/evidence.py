"""What a figure rests on."""

from enum import StrEnum


class Evidence(StrEnum):
    """The kinds of evidence a figure can have, first the one that stands before others.

    A value from memory that nobody found again stands last: an own choice says at
    least what it was chosen between.
    """

    KEEPERS_OWN = "the keeper's own"
    PUBLISHED = "published"
    COMPUTED = "computed here"
    COMMON_PRACTICE = "common practice"
    OWN_CHOICE = "own choice"
    FROM_MEMORY = "from memory"
