"""Setting a page: a template, and its content as JSON, into PDF or SVG."""

import json
import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

import typst
from django.conf import settings

FONTS = Path(__file__).parent / "fonts"
logger = logging.getLogger(__name__)

# The standard that asks for a title, a language, reading order and alternative texts.
ACCESSIBLE = "ua-1"


class Form(StrEnum):
    PDF = "pdf"
    SVG = "svg"


@dataclass(frozen=True, slots=True)
class Printed:
    """A finished document and how many pages it has."""

    content: bytes
    pages: int


def typeset(
    template: str, content: Mapping[str, Any], *, form: Form, made_at: datetime
) -> Printed:
    """Set a template of templates/printing/; the same content gives the same bytes.

    The content reaches the template as data, so that no name in it is ever markup. An
    SVG has one page, as tall as it needs to be.
    """
    try:
        return _compiled(template, {**content, "lacks_letters": False}, form, made_at)
    except typst.TypstError as error:
        if "could not be displayed with font" not in str(error):
            raise
        # A letter that no font here has must not keep the whole sheet from being
        # printed: it is set as a box, which the foot of the page explains.
        logger.warning("A letter is in none of the fonts: %s", error)
    return _compiled(template, {**content, "lacks_letters": True}, form, made_at)


def _compiled(
    template: str, content: dict[str, Any], form: Form, made_at: datetime
) -> Printed:
    data = {**content, "is_tall": form is Form.SVG, "made": _moment(made_at)}
    folder = settings.BASE_DIR / "templates" / "printing"
    compiler = typst.Compiler(
        folder / template,
        root=folder,
        font_paths=_fonts(),
        sys_inputs={"content": json.dumps(data, ensure_ascii=False, sort_keys=True)},
    )
    is_checked = form is Form.PDF and not content["lacks_letters"]
    made = compiler.compile(
        format=form.value,
        pdf_standards=[ACCESSIBLE] if is_checked else [],
        timestamp=int(made_at.timestamp()),
    )
    pages = int(compiler.query("<pages>", field="value", one=True))
    assert isinstance(made, bytes), "an SVG of several pages comes as a list"
    return Printed(made, pages)


@cache
def _fonts() -> typst.Fonts:
    """Only what is kept here: a sheet looks the same whatever a machine has."""
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS]
    )


def _moment(at: datetime) -> dict[str, int]:
    return {
        "year": at.year,
        "month": at.month,
        "day": at.day,
        "hour": at.hour,
        "minute": at.minute,
        "second": at.second,
    }
