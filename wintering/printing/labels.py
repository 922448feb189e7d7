"""A tree's labels: two tags with its number, its name and its page's address."""

import io
from datetime import datetime

import segno

from wintering.printing.papers import SIZES, Paper
from wintering.printing.typesetting import Form, Printed, typeset
from wintering.printing.words import local_moment
from wintering.trees.models import Tree


def tree_label(
    tree: Tree,
    *,
    address: str,
    made_at: datetime,
    time_zone: str,
    paper: Paper = Paper.A4,
    form: Form = Form.PDF,
) -> Printed:
    """The stake tag and the wired tag of a tree.

    address  of the tree's page, for the square code; no name of an owner, no value
    """
    upright = SIZES[paper]
    content = {
        "paper": {"width_mm": upright.height_mm, "height_mm": upright.width_mm},
        "tree": {
            "number": tree.number,
            "name": tree.name,
            "script": tree.original_script,
            "owner": tree.owner_mark,
        },
        "code": _square_code(address),
        "printed": local_moment(made_at, time_zone),
    }
    return typeset("label.typ", content, form=form, made_at=made_at)


def _square_code(address: str) -> str:
    # Level M bears 15 % of damage; the border is the quiet zone that readers need
    # (ISO/IEC 18004; from memory).
    drawing = io.BytesIO()
    code = segno.make_qr(address, error="m")
    code.save(drawing, kind="svg", border=4, xmldecl=False, svgns=True)
    return drawing.getvalue().decode()
