"""Names as people type them: without accents, case or long vowels."""

import unicodedata


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
