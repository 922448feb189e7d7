"""pip's failures become sentences. The outputs are shortened from pip 23.2."""

import pytest

from wintering.startup.pip_words import failure_words

NO_NAME = """\
WARNING: Retrying (Retry(total=4, connect=None, read=None, redirect=None)) after \
connection broken by 'NewConnectionError('Failed to establish a new connection: \
[Errno -3] Temporary failure in name resolution')': /simple/asgiref/
ERROR: Could not find a version that satisfies the requirement asgiref==3.13.0 \
(from versions: none)
ERROR: No matching distribution found for asgiref==3.13.0
"""
NO_WHEEL = """\
ERROR: Could not find a version that satisfies the requirement typst==0.15.2 \
(from versions: none)
ERROR: No matching distribution found for typst==0.15.2
"""
HASHES = """\
ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.
    asgiref==3.13.0 from asgiref-3.13.0-py3-none-any.whl:
        Expected sha256 00
             Got        ff
"""
FULL = "ERROR: Could not install packages due to an OSError: [Errno 28] No space left \
on device\n"


@pytest.mark.parametrize(
    ("output", "words"),
    [
        (NO_NAME, "Connect to the network"),
        (NO_WHEEL, "no ready-made typst==0.15.2 for this machine"),
        (HASHES, "differs from its hash in requirements.txt"),
        (FULL, "The disk is full"),
        ("ERROR: something new\n", "its own words are above"),
    ],
    ids=["no network", "no wheel", "hashes", "disk full", "unknown"],
)
def test_the_cause_is_named(output, words):
    said = failure_words(output, "requirements.txt")
    assert words in said
    assert said.endswith(".")
