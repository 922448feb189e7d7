"""Reading finished sheets back: words, sizes and lengths as a ruler would find them."""

import ctypes
import io
import re

import pypdf
import pypdfium2
import pypdfium2.raw as pdfium

MM = 72 / 25.4


def pages_of(content: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def text_of(content: bytes) -> str:
    """All words in one line, however the page breaks them."""
    return re.sub(r"\s+", " ", " ".join(pages_of(content)))


def sizes_mm(content: bytes) -> set[tuple[float, float]]:
    boxes = [page.mediabox for page in pypdf.PdfReader(io.BytesIO(content)).pages]
    return {(round(b.width / MM, 1), round(b.height / MM, 1)) for b in boxes}


def shapes_mm(content: bytes, page: int = 0) -> list[tuple[float, float, float, float]]:
    """Left, top, width and height of every drawn shape, from the page's top left."""
    document = pypdfium2.PdfDocument(content)
    sheet = document[page]
    height = sheet.get_height()
    found = []
    for shape in sheet.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        left, bottom, right, top = shape.get_bounds()
        ink = 2 * _stroke(shape)
        found.append(
            (
                (left + ink / 2) / MM,
                (height - top + ink / 2) / MM,
                (right - left - ink) / MM,
                (top - bottom - ink) / MM,
            )
        )
    document.close()
    return found


def _stroke(shape: pypdfium2.PdfObject) -> float:
    """How far the bounds reach beyond the drawn line: its whole width."""
    fill, is_stroked, width = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
    pdfium.FPDFPath_GetDrawMode(shape, fill, is_stroked)
    pdfium.FPDFPageObj_GetStrokeWidth(shape, width)
    return width.value if is_stroked.value else 0.0


def drawn(content: bytes, *, width: float, height: float, page: int = 0) -> list:
    """Shapes of that size within a fifth of a millimetre."""
    return [
        shape
        for shape in shapes_mm(content, page)
        if abs(shape[2] - width) <= 0.2 and abs(shape[3] - height) <= 0.2
    ]


def words_mm(
    content: bytes, words: str, page: int = 0
) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of words on a page, from its lower left corner."""
    document = pypdfium2.PdfDocument(content)
    text = document[page].get_textpage()
    first, count = text.search(words).get_next()
    boxes = [text.get_charbox(first + n) for n in range(count)]
    document.close()
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    found = (min(lefts), min(bottoms), max(rights), max(tops))
    return tuple(side / MM for side in found)


def pictures(content: bytes, dots_per_mm: float = 10) -> list:
    document = pypdfium2.PdfDocument(content)
    made = [page.render(scale=dots_per_mm / MM).to_pil() for page in document]
    document.close()
    return made
