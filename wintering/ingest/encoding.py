"""Which text a file's bytes are, and whether they are text at all."""

import codecs

from wintering.ingest.refusals import LogRefused

# The first bytes by which other kinds of file are known; all from memory.
_SIGNATURES = (
    (b"PK\x03\x04", "a spreadsheet or zip archive"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet in the old binary form"),
    (b"\x1f\x8b", "a compressed file"),
    (b"BZh", "a compressed file"),
    (b"\xfd7zXZ", "a compressed file"),
    (b"7z\xbc\xaf", "a compressed file"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"SQLite format 3", "a database"),
    (b"\x7fELF", "a program"),
)
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Some are ordinary in text: tab, line feed, form feed, carriage return, and the
# end-of-file mark that old programs leave.
_CONTROLS = bytes(set(range(32)) - {0, 9, 10, 12, 13, 26})
# A log that lost power may hold a stretch of NULs; more than this is not text.
_ODD_SHARE = 0.05


def encoding_of(head: bytes, name: str) -> str:
    """The codec for a file that starts with `head`; refuses what is not text."""
    for signature, kind in _SIGNATURES:
        if head.startswith(signature):
            raise LogRefused(_not_text(name, kind))
    for bom, codec in _BOMS:
        if head.startswith(bom):
            return codec
    wide = _utf16_without_bom(head)
    if wide:
        return wide
    odd = len(head) - len(head.translate(None, _CONTROLS + b"\0"))
    if odd > _ODD_SHARE * len(head):
        raise LogRefused(_not_text(name, "binary data"))
    return "utf-8" if _is_utf8(head) else "cp1252"


def decoded(head: bytes, codec: str) -> str:
    """The text of a file's first bytes, which may end in the middle of a letter."""
    return codecs.getincrementaldecoder(codec)(errors="replace").decode(head)


def _utf16_without_bom(head: bytes) -> str | None:
    """Digits and separators in UTF-16 leave every other byte zero."""
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = len(head) // 2
    if half and odd > 0.8 * half and even < 0.1 * half:
        return "utf-16-le"
    if half and even > 0.8 * half and odd < 0.1 * half:
        return "utf-16-be"
    return None


def _is_utf8(head: bytes) -> bool:
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return False
    return True


def _not_text(name: str, kind: str) -> str:
    return (
        f"{name} is {kind}, not a text log; expected lines of text with columns set "
        "apart by commas, semicolons or tabs: export it as CSV."
    )
