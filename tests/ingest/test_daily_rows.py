"""Which rows of a sheet with one minimum and one maximum a day count, and as what."""

import io
from datetime import date, timedelta

import numpy as np
import pytest
from django.core.management.base import CommandError
from hypothesis import given
from hypothesis import strategies as st

from tests.ingest.conftest import SAMPLES
from tests.ingest.sheets import FIRST, PLACE, SHEET, chill, days, figures
from wintering.ingest.daily import read_daily
from wintering.ingest.reading import Answers


class TestRows:
    def rejected(self, path, *words):
        found = figures(path, *SHEET, *PLACE, *words)
        return [(told["row"], told["reason"]) for told in found["rejected"]]

    @pytest.mark.parametrize(
        ("row", "reason"),
        [
            ("2024-11-03,5,-3", "its maximum is below its minimum"),
            ("2024-11-03,-9999,-9999", "neither minimum nor maximum is recorded"),
            ("2024-11-03,,", "neither minimum nor maximum is recorded"),
            ("2024-11-03,-127,4", "its minimum is a value that loggers and probes"),
            ("2024-11-03,1,85", "its maximum is a value that loggers and probes"),
            ("2024-11-03,-75,4", "its minimum is outside −60 to 70 °C"),
            ("2024-11-03,4,404", "its maximum is outside −60 to 70 °C"),
            ("2024-11-03,4,warm", "'warm' in column high_c is not a number"),
            ("2024-11-31,1,4", "its date is not in the calendar"),
            ("Sunday,1,4", "no date and time can be read from 'Sunday'"),
        ],
    )
    def test_a_row_that_cannot_be_right_is_left_out_with_its_reason(
        self, log_file, row, reason
    ):
        rows = days((0, 5), (0, 5), (0, 5), (0, 5))
        rows[2] = row
        path = log_file("day,low_c,high_c", *rows)
        [(at, why)] = self.rejected(path)
        assert at == 4
        assert why.startswith(reason)
        _, err = chill(path, *SHEET, *PLACE)
        assert f"1 row(s) left out, the first row 4: {reason}" in err
        # the rest is counted as if the row were not there
        del rows[2]
        bare = figures(log_file("day,low_c,high_c", *rows), *SHEET, *PLACE)
        assert bare["hours"] > 24
        assert {**figures(path, *SHEET, *PLACE), "rejected": []} == bare

    def test_rows_are_told_by_their_reason_with_how_many(self, log_file):
        path = log_file(
            "day,low_c,high_c", *days((0, 5), (5, 0), (0, 5), (6, 1), (-127, 1), (0, 5))
        )
        _, err = chill(path, *SHEET, *PLACE)
        assert "2 row(s) left out, the first row 3: its maximum is below" in err
        assert "1 row(s) left out, the first row 6: its minimum is a value" in err

    def test_many_reasons_do_not_flood_the_screen(self, log_file):
        rows = days(*[("x" * n or 0, 5) for n in range(31)])
        _, err = chill(log_file("day,low_c,high_c", *rows), *SHEET, *PLACE)
        assert err.count("left out, the first row") == 8
        assert "22 more row(s) left out for other reasons." in err

    def test_a_day_written_twice_with_different_figures_is_unknown(self, log_file):
        rows = days((0, 5), (0, 5), (0, 5), (0, 5))
        twice = log_file("day,low_c,high_c", *rows, "2024-11-02,-1,5")
        assert [row for row, _ in self.rejected(twice)] == [3, 6]
        assert "written more than once" in self.rejected(twice)[0][1]
        none = log_file("day,low_c,high_c", rows[0], *rows[2:], name="none.csv")
        assert (
            figures(twice, *SHEET, *PLACE)["hours"]
            == (figures(none, *SHEET, *PLACE)["hours"])
        )

    def test_a_day_repeated_with_the_same_figures_counts_once(self, log_file):
        rows = days((0, 5), (0, 5), (0, ""), (0, 5))
        once = log_file("day,low_c,high_c", *rows)
        again = log_file("day,low_c,high_c", *rows, *rows[1:3], name="again.csv")
        assert figures(once, *SHEET, *PLACE) == figures(again, *SHEET, *PLACE)
        _, err = chill(again, *SHEET, *PLACE)
        assert "2 row(s) repeat a day with the same figures." in err

    def test_one_figure_of_a_day_is_used_for_what_it_tells(self, log_file):
        rows = days((0, 5), (0, 5), (0, ""), (0, 5), (0, 5))
        half = log_file("day,low_c,high_c", *rows)
        none = log_file("day,low_c,high_c", *rows[:2], *rows[3:], name="none.csv")
        # its minimum ends the night before
        lost = figures(half, *SHEET, *PLACE)["hours"]
        assert lost - figures(none, *SHEET, *PLACE)["hours"] == pytest.approx(14, abs=1)
        _, err = chill(half, *SHEET, *PLACE)
        assert "1 row(s) have only one of minimum and maximum, the first row 4" in err

    def test_newest_first_is_the_same_and_a_wrong_year_is_told(self, log_file):
        rows = days(*[(-n, n) for n in range(10)])
        sheet = log_file("day,low_c,high_c", *rows)
        turned = log_file("day,low_c,high_c", *rows[::-1], name="turned.csv")
        assert chill(turned, *SHEET, *PLACE) == chill(sheet, *SHEET, *PLACE)
        rows[4] = rows[4].replace("2024", "2023")
        wrong = log_file("day,low_c,high_c", *rows, name="wrong.csv")
        _, err = chill(wrong, *SHEET, *PLACE)
        assert "Dates run back at row 6, from 2024-11-04 to 2023-11-05, and in 1" in err

    def test_figures_that_make_no_hour_are_refused(self, log_file):
        path = log_file("day,low_c,high_c", *days((0, ""), ("", 5)))
        with pytest.raises(CommandError, match="an hour needs both figures of its day"):
            chill(path, *SHEET, *PLACE)

    def test_a_sheet_without_a_usable_day_is_refused(self, log_file):
        path = log_file("day,low_c,high_c", *days((-75, 3), (-70, 2)))
        with pytest.raises(CommandError, match="row 2: its minimum is outside −60 to"):
            chill(path, *SHEET, *PLACE)
        empty = log_file("day,low_c,high_c", *days(("", ""), ("", "")), name="e.csv")
        with pytest.raises(CommandError, match="neither minimum nor maximum"):
            chill(empty, *SHEET, *PLACE)


class TestWriting:
    """Units and dates are read, or asked for, as in any log."""

    def test_a_handwritten_sheet_with_its_oddities(self):
        path = SAMPLES / "daily_min_max.csv"
        words = ("--min", "Tiefst", "--max", "höchst", *PLACE)
        found = figures(path, *words)
        assert [told["row"] for told in found["rejected"]] == [
            9, 11, 12, 14, 19, 20, 21, 22,
        ]  # fmt: skip
        with path.open("rb") as file:
            sheet = read_daily(
                file,
                name=path.name,
                min_column="Tiefst",
                max_column="Höchst",
                answers=Answers(),
            )
        assert (sheet.first, sheet.last) == (date(2024, 11, 28), date(2024, 12, 14))
        unknown = np.nan
        np.testing.assert_array_equal(
            sheet.days.min_c,
            [-1.5, -2, -3.5, unknown, -2.5, unknown, unknown, unknown, -1, unknown,
             0.5, 0.5, 1, unknown, unknown, 0, -0.5],
        )  # fmt: skip
        np.testing.assert_array_equal(
            sheet.days.max_c,
            [6.5, 7, 5.5, unknown, 6, unknown, unknown, unknown, 8, unknown,
             9, unknown, 8.5, unknown, unknown, 7.5, 7],
        )  # fmt: skip

    @pytest.mark.parametrize(
        ("heading", "words"),
        [
            ("day,low °F,high °F", ()),
            ("day,low (F),high (F)", ()),
            ("day,low,high", ("--unit", "f")),
        ],
    )
    def test_fahrenheit_is_the_same_days(self, log_file, heading, words):
        columns = ("--min", heading.split(",")[1], "--max", heading.split(",")[2])
        in_f = log_file(heading, *days((23, 41), (14, 50), (32, 59)))
        in_c = log_file(
            "day,low_c,high_c", *days((-5, 5), (-10, 10), (0, 15)), name="c.csv"
        )
        found = figures(in_f, *columns, *PLACE, *words)
        assert found == figures(in_c, *SHEET, *PLACE)

    def test_what_may_be_fahrenheit_is_asked(self, log_file):
        path = log_file("day,low,high", *days((23, 41), (30, 50), (32, 59)))
        words = ("--min", "low", "--max", "high", *PLACE)
        with pytest.raises(CommandError, match=r"may be °C or °F; say which\. Use --u"):
            chill(path, *words)
        path = log_file("day,low,high °F", *days((3, 41), (1, 50), (2, 59)))
        words = ("--min", "low", "--max", "high °F", *PLACE)
        with pytest.raises(CommandError, match="low does not say its unit, and column"):
            chill(path, *words)
        assert figures(path, *words, "--unit", "f")["hours"] > 24

    def test_the_order_of_dates_is_asked(self, log_file):
        rows = ["03/11/2024,0,5", "04/11/2024,0,5", "05/11/2024,0,5"]
        path = log_file("day,low_c,high_c", *rows)
        with pytest.raises(CommandError, match="Use --date-order"):
            chill(path, *SHEET, *PLACE)
        daily = figures(path, *SHEET, *PLACE, "--date-order", "dmy")
        monthly = figures(path, *SHEET, *PLACE, "--date-order", "mdy")
        assert daily["hours"] > 48 > monthly["hours"]

    @pytest.mark.parametrize(
        ("lines", "words", "sentence"),
        [
            (["day,low_c,high_c", "2024-11-01,0,5"], ["--max", "none"], "no column 'n"),
            (["day,low_c,high_c", "2024-11-01,0,5"], ["--max", "LOW_C"], "same column"),
            (["day,low_c,rh_pct", "2024-11-01,0,5"], ["--max", "rh_pct"], "not a temp"),
            (["at,low_c,high_c", "1732968000,0,5"], [], "counts its days in seconds"),
            (["low_c,high_c", "0,5"], [], "no time column"),
            ([""], [], "is empty"),
            (
                [
                    "day,low_c,high_c",
                    "2024-10-26T00:00+02:00,0,5",
                    "2024-10-28T00:00+01:00,0,5",
                ],
                [],
                "states 2 offsets from UTC; say which zone (Europe/Oslo)",
            ),
        ],
    )
    def test_what_cannot_be_read_is_refused_in_a_sentence(
        self, log_file, lines, words, sentence
    ):
        with pytest.raises(CommandError) as refused:
            chill(log_file(*lines), *SHEET, *PLACE, *words)
        assert sentence in str(refused.value)
        assert refused.value.returncode == 1


_figure = st.sampled_from(["", "-9999", "0", "5,5", "-3.2", "85", "x", "400"])


@given(st.lists(st.tuples(st.integers(0, 9), _figure, _figure), min_size=1))
def test_whatever_the_rows_every_one_is_used_or_named(rows):
    rows = [*rows, (12, "1", "2")]
    text = "".join(
        f"{FIRST + timedelta(days=n)};{low};{high}\n" for n, low, high in rows
    )
    sheet = read_daily(
        io.BytesIO(f"day;low_c;high_c\n{text}".encode()),
        name="sheet",
        min_column="low_c",
        max_column="high_c",
        answers=Answers(),
    )
    named = {rejected.row for rejected in sheet.rejected}
    used = [row for line, row in enumerate(rows, 2) if line not in named]
    assert sheet.first == FIRST + timedelta(days=min(n for n, _, _ in used))
    known = np.zeros(sheet.days.min_c.shape, bool)
    for n, low, high in used:
        at = n - (sheet.first - FIRST).days
        known[at] = True
        for told, kept in ((low, sheet.days.min_c), (high, sheet.days.max_c)):
            if told in {"", "-9999"}:
                assert np.isnan(kept[at])
            else:
                assert kept[at] == float(told.replace(",", "."))
    # nothing is made up for the days between
    assert np.isnan(sheet.days.min_c[~known]).all()
    assert np.isnan(sheet.days.max_c[~known]).all()


class TestSwapped:
    """--min and --max that name each other's column."""

    ROWS = days(*[(-2, 8)] * 9, (3, 3))

    @pytest.mark.parametrize("reset", [(), ("--reset-at", "18:00")])
    def test_columns_the_wrong_way_round_are_asked_after(self, log_file, reset):
        path = log_file("day,high_c,low_c", *self.ROWS, "2024-11-11,,4")
        asked = (
            r"the minimum lies above the maximum in 9 of 10 rows: are --min and --max "
            r"the wrong way round\?"
        )
        with pytest.raises(CommandError, match=asked):
            chill(path, *SHEET, *PLACE, *reset)

    def test_some_rows_the_wrong_way_round_are_left_out_as_before(self, log_file):
        path = log_file("day,high_c,low_c", *days(*[(-2, 8)] * 8, (8, -2), (8, -2)))
        _, err = chill(path, *SHEET, *PLACE, "--reset-at", "18:00")
        assert "8 row(s) left out" in err
