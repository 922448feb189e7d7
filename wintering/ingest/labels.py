"""Which sensor each row of a long log belongs to: the texts that name it.

In long form a row says whose its values are, in a column of names, in one of
quantities, or in both. Each pair of texts is a label, numbered as it is met.
"""

import re
from dataclasses import dataclass

from wintering.ingest.refusals import LogRefused

MOST_LABELS = 1000  # own choice: no frame has so many sensors
# A column headed so names the sensor of its row even where it holds one name only.
_SURE = re.compile(r"(?:sensor|probe|channel)s?", re.IGNORECASE)
_LIKELY = re.compile(
    r"(?:id|name|label|tag|device|logger|node|point|position|station|location|place|"
    r"site|serial|series)s?",
    re.IGNORECASE,
)
_QUANTITY = re.compile(
    r"quantity|quantities|parameter|variable|measurement|measure|metric|type|kind|"
    r"what",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class LabelColumn:
    """A column by which rows say whose they are."""

    index: int
    is_sure: bool = False  # it names the sensor even if all rows say the same
    is_quantity: bool = False


class Labels:
    """Each tuple of label texts met so far, by its number."""

    def __init__(self, file_name: str, columns: tuple[LabelColumn, ...]) -> None:
        self.file_name = file_name
        self.columns = columns
        self.texts: list[tuple[str, ...]] = []
        self._numbers: dict[tuple[str, ...], int] = {}

    def __len__(self) -> int:
        return len(self.texts)

    def number_of(self, texts: tuple[str, ...]) -> int:
        number = self._numbers.get(texts)
        if number is None:
            texts = tuple(text.strip() for text in texts)
            number = self._numbers.setdefault(texts, len(self.texts))
            if number == len(self.texts):
                self.texts.append(texts)
            if number >= MOST_LABELS:
                raise LogRefused(self._too_many())
        return number

    def groups(self) -> list["Group | None"]:
        """What each label stands for; None where it leaves out a name."""
        kept = [i for i, column in enumerate(self.columns) if self._tells(i, column)]
        quantity = [i for i, column in enumerate(self.columns) if column.is_quantity]
        return [
            Group(
                " ".join(texts[i] for i in kept),
                " ".join(texts[i] for i in quantity),
            )
            if all(texts[i] for i in kept)
            else None
            for texts in self.texts
        ]

    def _tells(self, which: int, column: LabelColumn) -> bool:
        """A column in which all rows say the same tells no sensors apart."""
        return column.is_sure or len({texts[which] for texts in self.texts}) > 1

    def _too_many(self) -> str:
        return (
            f"{self.file_name} names more than {MOST_LABELS} sensors in its rows; "
            "expected a name of few in each: leave out columns of notes or numbers."
        )


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of one sensor in a long log."""

    name: str  # '' where the rows do not tell sensors apart
    quantity: str  # as the rows say it, '' where they do not


def how_likely_names(heading: str) -> int:
    """Whether a column so headed names sensors: 2 surely, 1 if it has several, 0."""
    words = [word for word in re.split(r"[^A-Za-z]+", heading) if word]
    if any(_SURE.fullmatch(word) for word in words):
        return 2
    return int(any(_LIKELY.fullmatch(word) for word in words))


def heads_quantities(heading: str) -> bool:
    return any(_QUANTITY.fullmatch(w) for w in re.split(r"[^A-Za-z]+", heading) if w)
