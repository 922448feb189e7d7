"""Names: as botanists write them, and as people type them."""

import re
import unicodedata

EPITHET = r"[a-z][a-zë]+(?:-[a-zë]+)*"
BOTANICAL = re.compile(
    rf"×?[A-Z][a-zë]+"
    rf"(?: (?:× ?)?{EPITHET}(?: (?:subsp\.|var\.|f\.) {EPITHET})*)?"
    r"(?: \([^()]+\))?"
)
"""A genus, or a species, hybrid, subspecies, variety or form as the International Code
of Nomenclature (Shenzhen Code 2018, articles 20 to 24 and H.3) has it; a group of
garden plants may follow its genus in brackets, in plain words."""


def as_botanical(typed: str) -> str:
    """A name as the code writes it, where it was typed in one case throughout.

    'ficus virens' and 'FICUS VIRENS' are Ficus virens; what mixes cases stays.
    """
    name = " ".join(typed.split())
    if name.islower() or name.isupper():
        name = name.lower()
        first = next((n for n, c in enumerate(name) if c.isalpha()), 0)
        name = name[:first] + name[first : first + 1].upper() + name[first + 1 :]
    return name


def is_botanical(name: str) -> bool:
    """Whether a name is written as the code asks; cultivars belong to the tree."""
    return BOTANICAL.fullmatch(name) is not None


def plain(text: str) -> str:
    """A form in which 'Deshōjō', 'deshojo' and 'DESHOJO' are the same.

    Accents and long-vowel marks fall away, full-width letters become ordinary ones,
    other scripts stay as they are.
    """
    decomposed = unicodedata.normalize("NFKD", text)
    # Only marks on Latin letters: a kana's voicing mark changes the word.
    kept: list[str] = []
    for character in decomposed:
        if unicodedata.combining(character) and kept and kept[-1].isascii():
            continue
        kept.append(character)
    folded = unicodedata.normalize("NFC", "".join(kept)).casefold()
    return " ".join("".join(" " if c in "'‘’\"×" else c for c in folded).split())
