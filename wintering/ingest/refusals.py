"""How a log file is turned down: in one sentence that says what to do next."""

from typing import Literal

About = Literal["zone", "date_order", "unit", "repeated_hour"]


class LogRefused(Exception):
    """The file cannot be read; nothing of it is kept."""


class LogQuestion(LogRefused):
    """The file alone cannot settle something that a person can."""

    def __init__(self, sentence: str, *, about: About) -> None:
        super().__init__(sentence)
        self.about: About = about
