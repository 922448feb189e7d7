"""The quick reader is held to the careful one, which alone says what a cell means."""

import io

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.ingest import dialects
from wintering.ingest.cells import UNIT_CODES
from wintering.ingest.labels import Labels
from wintering.ingest.lines import Lines
from wintering.ingest.opening import Answers, OpenLog
from wintering.ingest.quick import QuickReader
from wintering.ingest.scanning import NO_VALUE, Scanner
from wintering.ingest.series import columns_to_read
from wintering.ingest.sniffing import sniff
from wintering.ingest.surveying import survey_log

numbers = st.one_of(
    st.decimals(-999, 999, places=2).map(lambda d: f"{d:f}"),
    st.integers(-99_999_999, 999_999_999).map(str),
    st.from_regex(r"[+-]?[0-9]{0,5}[.,]?[0-9]{0,4}", fullmatch=True),
)
odd_cells = st.sampled_from(
    ["", " ", "NAN", "--", "-", "+", ".", "-.", "-9999", "-999.9", "-9999.00", "1e3",
     "4.5 °C", "40F", "280 K", "80%", " 4.5", "4.5 ", "ERR", "\u22124.5", "1_0",
     "1.2.3", "--5", "+-5", "12345678.9", "2147483.647", "2147483.648", "00000001"]
)  # fmt: skip
times = st.sampled_from(
    ["2024-11-30T14:00:00+01:00", "2024-11-30 14:00", "2024-11-30 14:05", "30.11.2024",
     "2024-11-30T14:00Z", "30 Nov 2024 14:00", "1 Mar 2024 4:05", "11/30/2024 2:00 PM",
     "11/30/2024 2:00 AM", "24:00", "2024-11-30 24:00", "2024-13-30 10:00",
     "1732975200", "1732975200000", "99", "", " 2024-11-30 14:00", "2024-11-30 14:61"]
)  # fmt: skip
good_times = st.sampled_from(
    ["2024-11-30T14:00:00+01:00", "2024-11-30 14:00", "2024-11-30T14:00Z",
     "30 Nov 2024 14:00", "11/30/2024 2:00 PM", "2024-11-30 24:00"]
)  # fmt: skip
names = st.sampled_from(["P1", "P2", "P1 ", "a rather long name of a probe", "Ü3", ""])
units = st.sampled_from(["C", "F", "°C", "K", "%", "", "V"])


def readers(head: str, data: bytes, encoding="utf-8"):
    """Both readers, each with nothing read yet, for a file that begins with `head`."""
    dialect = sniff(head.encode(encoding), "log")
    columns = columns_to_read(dialect, None, "log")

    def careful():
        labels = Labels("log", dialect.labels)
        return Scanner("log", dialect, columns, dialect.encoding, labels)

    return careful(), QuickReader(careful()), Lines(dialect.first_line, data)


def assert_same(careful, quick, lines, *, is_quick=None):
    """Whatever the quick reader takes on, both make the same of it."""
    found = quick.read(lines)
    assert is_quick is None or (found is not None) == is_quick
    if found is None:
        return
    told = careful.read(lines)
    for name in ("row", "date_key", "second", "offset_min"):
        assert getattr(found, name).tolist() == getattr(told, name).tolist(), name
    assert _plain(found.label) == _plain(told.label)
    assert [v.tolist() for v in found.values] == [v.tolist() for v in told.values]
    assert [v.dtype for v in found.values] == [v.dtype for v in told.values]
    assert [_plain(codes) for codes in found.units] == [_plain(c) for c in told.units]
    assert found.rejected == told.rejected
    assert quick.labels.texts == careful.labels.texts
    for mine, other in zip(quick.scanner.cells, careful.cells, strict=True):
        assert mine.units == other.units


def _plain(array):
    return None if array is None else array.tolist()


WIDE = "time,air_c,note,root_c\n" + "2024-11-30 14:00,1.5,ok,0.5\n" * 3
LONG = "time,sensor,temperature,unit\n" + "2024-11-30 14:00,P1,1.5,C\n" * 3
EPOCH = "time,air_c\n" + "1732975200,1.5\n" * 3
APART = "date,time,air_c\n" + "2024-11-30,14:00:00,1.5\n" * 3

# Between commas a decimal comma would part a cell in two.
values = st.one_of(numbers.map(lambda text: text.replace(",", ".")), odd_cells)
# How a file begins, the cells of one good time, those of any, and the rest of a row.
TABLES = {
    WIDE: (st.tuples(good_times), st.tuples(times), (values, odd_cells, values)),
    LONG: (st.tuples(good_times), st.tuples(times), (names, values, units)),
    EPOCH: (st.just(("1732975200",)), st.tuples(times), (values,)),
    APART: (
        st.just(("2024-11-30", "14:00:00")),
        st.tuples(times, times),
        (values,),
    ),
}


@st.composite
def tables(draw):
    """The beginning of a file, rows of it, and whether the quick reader must take them.

    Mostly the rows are of one good time, so that most are read quickly.
    """
    head = draw(st.sampled_from(list(TABLES)))
    good, any_time, cells = TABLES[head]
    is_good = draw(st.integers(0, 3)) > 0
    rows = st.tuples(st.just(draw(good)) if is_good else any_time, *cells)
    drawn = draw(st.lists(rows, min_size=1, max_size=12))
    return head, [[*when, *rest] for when, *rest in drawn], is_good or None


@settings(deadline=None)
@given(tables(), st.sampled_from(["\n", "\r\n"]), st.booleans())
def test_any_block_gives_the_same(table, line_end, has_last_end):
    head, rows, is_quick = table
    text = line_end.join(",".join(row) for row in rows)
    data = (text + line_end * has_last_end).encode()
    assert_same(*readers(head, data), is_quick=is_quick)


@settings(deadline=None)
@given(st.lists(numbers, min_size=1, max_size=30), st.sampled_from(";\t|"))
def test_plain_numbers_are_read_quickly_and_the_same(cells, delimiter):
    assume(all(cell.strip() for cell in cells))
    lines = [f"2024-11-30T14:00Z{delimiter}{cell}" for cell in cells]
    head = f"time{delimiter}air_c\n" + f"2024-11-30T14:00Z{delimiter}1.5\n" * 3
    data = "\n".join([*lines, ""]).encode()
    assert_same(*readers(head, data), is_quick=True)


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_give_the_same(data):
    careful, quick, lines = readers(WIDE, data)
    try:
        found = quick.read(lines)
    except UnicodeDecodeError:
        with pytest.raises(UnicodeDecodeError):
            careful.read(lines)
        return
    if found is not None:
        assert_same(*readers(WIDE, data))


@pytest.mark.parametrize("form", dialects.FORMS, ids=lambda form: form.name)
def test_every_way_of_writing_times_is_read_quickly(form):
    text = dialects.written(form, delimiter=";")
    head, data = text, text.split("\n", 1)[1].encode()
    careful, quick, lines = readers(head, data)
    assert_same(
        careful, quick, lines, is_quick=form.name != "date with midnight, and time"
    )


def test_a_stand_in_among_plain_numbers_is_no_value():
    data = b"2024-11-30 14:00,-9999,ok,0.5\n2024-11-30 14:05,1.5,ok,-999.9\n"
    careful, quick, lines = readers(WIDE, data)
    air, root = quick.read(lines).values
    assert air.tolist() == [NO_VALUE, 1500]
    assert root.tolist() == [500, NO_VALUE]
    assert_same(careful, quick, lines, is_quick=True)


def test_a_unit_in_the_cell_stands_above_the_one_beside_it():
    data = b"2024-11-30 14:00,P1,1.5 F,C\n2024-11-30 14:00,P1,1.5,C\n"
    careful, quick, lines = readers(LONG, data)
    (units,) = quick.read(lines).units
    assert units.tolist() == [UNIT_CODES.index("f"), UNIT_CODES.index("c")]
    assert_same(careful, quick, lines, is_quick=True)


def test_labels_are_numbered_in_the_order_in_which_they_are_met():
    head = "time,sensor,quantity,value\n" + "2024-11-30 14:00,P1,temperature,1.5\n" * 3
    met = [("P9", "air"), ("P1", "air"), ("P9", "root"), ("P5", "air")]
    rows = [f"2024-11-30 14:00,{','.join(names)},1.5\n" for names in [*met, met[1]]]
    careful, quick, lines = readers(head, "".join(rows).encode())
    assert quick.read(lines).label.tolist() == [0, 1, 2, 3, 1]
    assert quick.labels.texts == met
    assert_same(careful, quick, lines, is_quick=True)


def test_many_sensors_keep_their_names():
    rows = [f"2024-11-30T14:00Z,{'x' * (n % 40)}{n},{n % 50}.25,C" for n in range(500)]
    data = "\n".join([*rows, ""]).encode()
    careful, quick, lines = readers(LONG, data)
    assert_same(careful, quick, lines, is_quick=True)
    assert len(quick.labels) == 500


def test_a_block_after_another_is_read_with_what_was_met_before():
    careful, quick, lines = readers(LONG, b"2024-11-30T14:00Z,P1,1.5,C\n")
    more = Lines(5, b"2024-11-30T14:00Z,P2,1.5,F\n2024-11-30T14:00Z,P1,1.5 C,\n")
    assert_same(careful, quick, lines, is_quick=True)
    assert_same(careful, quick, more, is_quick=True)


def test_the_whole_file_gives_the_same_in_blocks_of_any_size():
    text = dialects.written(dialects.FORMS[0])
    found = set()
    for size in (40, 97, 1000, 10**6):
        seen = survey_log(io.BytesIO(text.encode()), name="log", block_bytes=size)
        log = OpenLog(seen, Answers.of(zone="+02:00"))
        parts = list(log.parts())
        columns = tuple(
            tuple(np.concatenate([p.thousandths for p in parts if p.which == i]))
            for i in range(2)
        )
        found.add(columns)
    assert len(found) == 1
