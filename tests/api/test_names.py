"""Names that a sensor may have: nothing in them that nobody sees."""

import re
import unicodedata
from decimal import Decimal

import pytest

from wintering.api.document import BODY
from wintering.api.measurements import measurement

# Signs that are seen, though Unicode counts them among those of format.
SEEN = {*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2}
UNSEEN = [
    chr(code)
    for code in range(0x10000)
    if unicodedata.category(chr(code)) in {"Cc", "Cf", "Zl", "Zp"} and code not in SEEN
]


def is_taken(name):
    try:
        measurement(
            name=name, second=10**9, value=Decimal(0), unit="Cel", received_s=10**9
        )
    except ValueError:
        return False
    return True


def is_promised(name):
    """Whether the document says that a name of this kind is taken."""
    schema = BODY["content"]["application/json"]["schema"]
    item = schema["properties"]["readings"]["items"]
    return bool(re.search(item["properties"]["sensor"]["pattern"], name))


@pytest.mark.parametrize("knows", [is_taken, is_promised])
def test_a_sign_that_nobody_sees_is_in_no_name(knows):
    """Turned round or doubled by such signs, two names look alike."""
    assert len(UNSEEN) > 90
    assert [ascii(sign) for sign in UNSEEN if knows(f"a{sign}b")] == []


@pytest.mark.parametrize("knows", [is_taken, is_promised])
@pytest.mark.parametrize("name", ["S0-01f", "Süd, Boden", "西の床", "حوض", "a b", "❄"])
def test_names_of_any_script_are_taken(knows, name):
    assert knows(name)
