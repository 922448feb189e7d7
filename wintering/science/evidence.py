"""What a figure rests on."""

from enum import StrEnum


class Evidence(StrEnum):
    """The kinds of evidence a figure can have, strongest first."""

    PUBLISHED = "published"
    KEEPERS_OWN = "the keeper's own"
    COMPUTED = "computed here"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    OWN_CHOICE = "own choice"
