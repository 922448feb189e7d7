"""How a command line says which column is which sensor."""

import pytest

from wintering.ingest.channels import Channel


@pytest.mark.parametrize(
    ("text", "channel"),
    [
        ("air_c=A1:air", Channel("air_c", "A1", "air")),
        (
            "Temp = x (°C)=A1:root:floor",
            Channel("Temp = x (°C)", "A1", "root", "floor"),
        ),
        ("a:b=A1: ground ", Channel("a:b", "A1", "ground")),
    ],
)
def test_a_channel_is_read(text, channel):
    assert Channel.parse(text) == channel


@pytest.mark.parametrize(
    "text",
    ["air_c", "air_c=A1", "=A1:air", "air_c=:air", "air_c=A1:cellar", "a=b:air:c:d"],
)
def test_what_is_no_channel_is_refused(text):
    with pytest.raises(
        ValueError, match=r"is not COLUMN=|is no place; write air, root"
    ):
        Channel.parse(text)
