"""Whatever the bytes, reading ends in readings or in one sentence."""

import io
from datetime import UTC, datetime
from itertools import cycle

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.ingest import dialects
from wintering.ingest.reading import NO_VALUE, Answers, read_log
from wintering.ingest.refusals import LogRefused

ANSWERS = Answers.of(zone="America/New_York", date_order="dmy", unit="c")
YEAR_1970, YEAR_2200 = (
    int(datetime(y, 1, 1, tzinfo=UTC).timestamp()) for y in (1970, 2200)
)
SANE = dialects.written(dialects.FORMS[0]).encode()

pieces = st.sampled_from(
    [b",", b";", b"\t", b"\n", b"\r", b"\r\n", b'"', b"'", b" ", b"time", b"air_c",
     b"F", b"2024-11-30 14:00", b"03/11/2024", b"03/11/24 10:00 PM",
     b"2024-03-10 02:30",
     b"14:05", b"1732975200", b"99999999999999999999", b"4.5", b"-3,25", b"1e5", b"NAN",
     b"-9999", b"21 \xc2\xb0C", b"21 \xb0F", b"%", b"\0", b"\xff", b"\xe2\x88\x92",
     b"(UTC+99)", b"UTC-05:00", b"9" * 50, b"0000-00-00 00:00", b"Z"]
)  # fmt: skip
soups = st.lists(pieces, max_size=60).map(b"".join)
tables = st.lists(
    st.lists(pieces, min_size=2, max_size=4).map(b",".join), max_size=12
).map(lambda rows: b"time,air_c\n2024-11-30 10:00,1.5\n" + b"\n".join(rows))
LONG = dialects.written(dialects.FORMS[15], is_long=True, delimiter=";").encode()
ENCODINGS = ("utf-8", "utf-16", "cp1252")
FORMS = [
    dialects.written(form, delimiter=delimiter).encode(encoding)
    for form, delimiter, encoding in zip(
        dialects.FORMS,
        cycle(",;\t|"),
        cycle(ENCODINGS),
        strict=False,
    )
]
damage = st.one_of(
    st.just(b""),
    st.just(b"\0" * 50),
    st.binary(min_size=1, max_size=8),
    st.sampled_from(["°C", "2024-11-30", "1,5"]).map(lambda t: t.encode("utf-16-le")),
)
mutated = st.tuples(
    st.sampled_from([SANE, LONG, *FORMS]),
    st.lists(st.tuples(st.floats(0, 1), st.integers(0, 60), damage), max_size=6),
    st.floats(0, 1),
).map(lambda told: _mutated(*told))
spoilt = st.tuples(st.integers(0, len(SANE)), st.integers(0, 40), soups).map(
    lambda cut: SANE[: cut[0]] + cut[2] + SANE[cut[0] + cut[1] :]
)


def _mutated(blob, wounds, cut):
    """A sound log with bytes lost, changed or put in, and perhaps its end cut off."""
    for where, lost, put in wounds:
        at = int(where * len(blob))
        blob = blob[:at] + put + blob[at + lost :]
    return blob[: int(len(blob) * cut)] if cut < 0.5 else blob


@settings(deadline=None)
@given(st.one_of(st.binary(max_size=400), soups, tables, spoilt, mutated))
def test_any_bytes_are_read_or_refused_in_one_sentence(blob):
    try:
        log = read_log(io.BytesIO(blob), name="log", answers=ANSWERS)
    except LogRefused as refusal:
        sentence = str(refusal)
        assert sentence.endswith(".")
        assert sentence.isprintable()
        assert len(sentence) < 3000
        return
    lengths = {len(log.row), len(log.seconds), len(log.offset_s)}
    lengths |= {len(column.values) for column in log.columns}
    assert len(lengths) == 1
    assert any((column.values != NO_VALUE).any() for column in log.columns)
    days_apart = 2 * 86_400
    assert (log.seconds > YEAR_1970 - days_apart).all()
    assert (log.seconds < YEAR_2200 + days_apart).all()
    lines = blob.count(b"\n") + blob.count(b"\r") + 1
    rows = [*log.row.tolist(), *(rejected.row for rejected in log.rejected)]
    assert all(1 <= row <= lines for row in rows)


@given(st.binary(max_size=2000), st.sampled_from(["utf-16", "utf-8-sig", "latin-1"]))
def test_what_follows_a_sound_log_does_not_spoil_it(tail, encoding):
    text = SANE.decode() + tail.decode("latin-1").replace("\xb0", "")
    log = read_log(io.BytesIO(text.encode(encoding)), name="log", answers=ANSWERS)
    assert log.columns[1].values[: dialects.ROWS].tolist() == dialects.ROOT
