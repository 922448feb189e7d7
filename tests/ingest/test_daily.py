"""Totals of a sheet with one minimum and one maximum a day, through the command."""

import io
import json
from datetime import date, timedelta

import numpy as np
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from hypothesis import given
from hypothesis import strategies as st

from tests.ingest.conftest import SAMPLES
from wintering.ingest.daily import read_daily
from wintering.ingest.reading import Answers
from wintering.science.min_max import DailyExtremes, chill_of, reconstruct

KEYS = [
    "reconstructed",
    "use",
    "hours",
    "gap_hours",
    "chill_hours_0_7",
    "chill_hours_0_7_high",
    "chill_hours_below_7",
    "portions",
    "portions_high",
    "gdh_linear_rough",
    "gdh_curvilinear_rough",
    "rejected",
]
SHEET = ("--min", "low_c", "--max", "high_c")
PLACE = ("--latitude", "45", "--longitude", "-68.7")
FIRST = date(2024, 11, 1)


def chill(path, *words):
    """What the command writes on standard output, and what on standard error."""
    out, err = io.StringIO(), io.StringIO()
    call_command("chill", str(path), *words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def figures(path, *words):
    return json.loads(chill(path, *words, "--format", "json")[0])


def days(*extremes, first=FIRST):
    return [
        f"{first + timedelta(days=n)},{low},{high}"
        for n, (low, high) in enumerate(extremes)
    ]


@pytest.fixture
def sheet(log_file):
    """Ten days, of which the inner ones are whole."""
    rows = days(*[(-2 - n / 4, 8 + n / 2) for n in range(10)])
    return log_file("day,low_c,high_c", *rows)


class TestAnswer:
    def test_json_has_the_keys_of_a_log_where_the_figure_is_the_same_kind(self, sheet):
        found = figures(sheet, *SHEET, *PLACE)
        assert list(found) == KEYS
        assert found["reconstructed"] is True
        assert "No warning of early waking rests on it" in found["use"]
        assert found["rejected"] == []

    def test_an_ordinary_log_gets_no_new_key(self, log_file):
        path = log_file("time,air_c", "2024-11-30T10:00Z,5")
        found = figures(path)
        assert "reconstructed" not in found
        assert "rejected" not in found
        assert {"utah", "gdh_linear", "bridged_hours"} <= set(found)

    def test_figures_are_those_of_the_science(self, sheet):
        low = np.array([-2 - n / 4 for n in range(10)])
        high = np.array([8 + n / 2 for n in range(10)])
        rebuilt = reconstruct(
            DailyExtremes(FIRST, low, high), latitude_deg=45, longitude_deg=-68.7
        )
        known = rebuilt.first_hour + np.flatnonzero(~np.isnan(rebuilt.curve_c))
        expected = chill_of(rebuilt, int(known[0]), int(known[-1]) + 1)
        found = figures(sheet, *SHEET, *PLACE)
        assert found["hours"] == expected.hours == len(known)
        assert found["chill_hours_0_7"] == expected.chill_hours_0_7
        assert found["portions"] == pytest.approx(expected.portions, abs=1e-6)
        assert found["gdh_linear_rough"] == pytest.approx(expected.gdh_linear_rough)

    def test_text_says_first_that_it_is_reconstructed(self, sheet):
        out, _ = chill(sheet, *SHEET, *PLACE)
        lines = out.splitlines()
        assert lines[0] == "Reconstructed from daily minimum and maximum"
        assert lines[1].startswith("Rebuilt from daily minimum and maximum, not meas")
        assert lines[2] == "From the first hour rebuilt to the last hour rebuilt"
        assert "Growing degree hours, linear, rough" in out
        assert "Utah" not in out

    def test_what_is_assumed_without_a_reset_is_told(self, sheet):
        _, err = chill(sheet, *SHEET, *PLACE)
        assert err == (
            "No --reset-at: minimum and maximum are taken as of the day beside them.\n"
        )
        assert chill(sheet, *SHEET, *PLACE, "--reset-at", "18:00")[1] == ""


class TestWindow:
    def test_whole_days_begin_on_the_keepers_clock_and_end_is_left_out(self, sheet):
        window = ("--start", "2024-11-03", "--end", "2024-11-05")
        # on 3 November 2024 the clocks of New York were put back
        zones = [([], 48), (["--tz", "-05:00"], 48), (["--tz", "America/New_York"], 49)]
        for zone, hours in zones:
            found = figures(sheet, *SHEET, *PLACE, *window, *zone)
            assert (found["hours"], found["gap_hours"]) == (hours, 0)

    def test_a_zone_moves_the_hours_of_the_window(self, log_file):
        rows = days((0, 4), (0, 4), (0, 4), (10, 20), (10, 20), (10, 20))
        path = log_file("day,low_c,high_c", *rows)
        words = (*SHEET, *PLACE, "--start", "2024-11-02", "--end", "2024-11-04")
        here = figures(path, *words, "--tz", "-05:00")
        ahead = figures(path, *words, "--tz", "+03:00")
        # eight hours earlier it ends before the night that warms from 4 to 10 °C
        assert ahead["hours"] == here["hours"] == 48
        assert ahead["chill_hours_0_7"] == 48 > here["chill_hours_0_7"]
        # an offset written in the file wins
        dated = [row.replace(",", "T00:00-05:00,", 1) for row in rows]
        path = log_file("day,low_c,high_c", *dated)
        assert figures(path, *words, "--tz", "+03:00") == here

    def test_without_a_zone_days_begin_near_the_midnight_of_the_sun(self, sheet):
        words = (*SHEET, *PLACE, "--start", "2024-11-03", "--end", "2024-11-05")
        # 68.7 degrees west is 4 h 35 min
        assert figures(sheet, *words) == figures(sheet, *words, "--tz", "-05:00")

    def test_the_first_night_and_the_last_are_missing_where_they_are_asked_for(
        self, sheet
    ):
        words = ("--start", "2024-11-01", "--end", "2024-11-11")
        found = figures(sheet, *SHEET, *PLACE, *words)
        assert found["hours"] + found["gap_hours"] == 240
        # sunrise of the first day to sunset of the last: a night of 14 h is missing
        assert found["gap_hours"] == pytest.approx(14, abs=1)

    def test_a_missing_day_leaves_its_hours_missing_and_opens_the_bracket(
        self, log_file, sheet
    ):
        lines = sheet.read_text().splitlines()
        del lines[5]
        found = figures(log_file(*lines, name="gap.csv"), *SHEET, *PLACE)
        whole = figures(sheet, *SHEET, *PLACE)
        lost = whole["hours"] - found["hours"]
        # the day, and the two nights that lean on it
        assert lost == found["gap_hours"] == pytest.approx(24 + 14, abs=1)
        assert found["chill_hours_0_7_high"] == found["chill_hours_0_7"] + lost
        assert found["chill_hours_0_7"] < whole["chill_hours_0_7"]
        assert whole["chill_hours_0_7"] < found["chill_hours_0_7_high"]
        assert found["portions"] < found["portions_high"]

    def test_a_window_beside_the_sheet_is_refused(self, sheet):
        with pytest.raises(CommandError, match="days run from 2024-11-01 to 2024-11-1"):
            chill(sheet, *SHEET, *PLACE, "--start", "2025-01-01")


class TestReset:
    """Before noon the maximum shown is that of the day before."""

    ROWS = days((9, 9), (-3, 5), (-2, 6), (-4, 3))

    def read(self, log_file, reset_at):
        path = log_file("day,low_c,high_c", *self.ROWS)
        return figures(path, *SHEET, *PLACE, "--reset-at", reset_at)

    def test_a_morning_reading_equals_a_sheet_by_days_shifted_by_hand(self, log_file):
        # the first reading only sets it; -2 and 6 were both of 2 November, and so on
        shifted = log_file(
            "day,low_c,high_c",
            "2024-11-01,,5",
            "2024-11-02,-3,6",
            "2024-11-03,-2,3",
            "2024-11-04,-4,",
        )
        by_hand = figures(shifted, *SHEET, *PLACE)
        for reset_at in ("08:00", "8:00", "11:59"):
            assert self.read(log_file, reset_at) == by_hand

    def test_an_evening_reading_is_of_its_day_but_for_the_first(self, log_file):
        path = log_file("day,low_c,high_c", *self.ROWS[1:], name="other.csv")
        by_hand = figures(path, *SHEET, *PLACE)
        for reset_at in ("12:00", "18:00"):
            assert self.read(log_file, reset_at) == by_hand

    def test_a_row_with_a_wrong_figure_still_tells_of_a_reset(self, log_file):
        rows = days((9, 9), (-3, 5), (5, -3), (-2, 6), (-4, 3), (-4, 3))
        wrong = log_file("day,low_c,high_c", *rows)
        none = log_file("day,low_c,high_c", *rows[:2], *rows[3:], name="none.csv")
        words = (*SHEET, *PLACE, "--reset-at", "18:00")
        # after a day without a reading, the next one may be of either day
        lost = figures(wrong, *words)["hours"] - figures(none, *words)["hours"]
        assert lost == pytest.approx(24, abs=1)

    def test_times_beside_the_dates_ask_for_the_reset(self, log_file):
        rows = [row.replace(",", " 08:10,", 1) for row in self.ROWS]
        path = log_file("day,low_c,high_c", *rows)
        with pytest.raises(CommandError, match=r"such as 08:10 in row 2: .*--reset-at"):
            chill(path, *SHEET, *PLACE)
        found = figures(path, *SHEET, *PLACE, "--reset-at", "08:00")
        assert found == self.read(log_file, "08:00")

    def test_a_row_read_on_the_other_side_of_noon_is_left_out(self, log_file):
        written = days(*[(0, 5)] * 6)
        rows = [row.replace(",", " 08:10,", 1) for row in written]
        rows[2] = rows[2].replace("08:10", "17:30")
        path = log_file("day,low_c,high_c", *rows)
        found = figures(path, *SHEET, *PLACE, "--reset-at", "08:00")
        assert found["rejected"] == [
            {"row": 4, "reason": "it was read on the other side of noon from the reset"}
        ]


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
            ("2024-11-03,-75,4", "its minimum is outside -60 to 70 °C"),
            ("2024-11-03,4,404", "its maximum is outside -60 to 70 °C"),
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

    def test_newest_first_is_the_same_and_a_wrong_year_is_told(self, log_file, sheet):
        heading, *rows = sheet.read_text().splitlines()
        turned = log_file(heading, *rows[::-1], name="turned.csv")
        assert chill(turned, *SHEET, *PLACE) == chill(sheet, *SHEET, *PLACE)
        rows[4] = rows[4].replace("2024", "2023")
        _, err = chill(log_file(heading, *rows), *SHEET, *PLACE)
        assert "Dates run back at row 6, from 2024-11-04 to 2023-11-05, and in 1" in err

    def test_figures_that_make_no_hour_are_refused(self, log_file):
        path = log_file("day,low_c,high_c", *days((0, ""), ("", 5)))
        with pytest.raises(CommandError, match="an hour needs both figures of its day"):
            chill(path, *SHEET, *PLACE)

    def test_a_sheet_without_a_usable_day_is_refused(self, log_file):
        path = log_file("day,low_c,high_c", *days((5, -3), (6, -2)))
        with pytest.raises(CommandError, match="row 2: its maximum is below its mini"):
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


class TestCommandLine:
    @pytest.mark.parametrize("left_out", range(4))
    def test_each_of_the_four_needs_the_others(self, sheet, left_out):
        pairs = [SHEET[:2], SHEET[2:], PLACE[:2], PLACE[2:]]
        name = pairs.pop(left_out)[0]
        with pytest.raises(CommandError, match=f"together: {name} not given") as wrong:
            chill(sheet, *[word for pair in pairs for word in pair])
        assert wrong.value.returncode == 2

    @pytest.mark.parametrize(
        ("words", "sentence"),
        [
            (["--reset-at", "08:00"], "Daily minimum and maximum need"),
            ([*SHEET, *PLACE, "--column", "low_c"], "leave it out beside"),
            (
                [*SHEET, *PLACE, "--start", "2024-12-02", "--end", "2024-12-01"],
                "is not after",
            ),
        ],
    )
    def test_what_does_not_go_together_exits_2(self, sheet, words, sentence):
        with pytest.raises(CommandError, match=sentence) as wrong:
            chill(sheet, *words)
        assert wrong.value.returncode == 2

    @pytest.mark.parametrize(
        ("option", "value", "sentence"),
        [
            ("--latitude", "90.1", "not in degrees from -90 to 90"),
            ("--latitude", "north", "not in degrees"),
            ("--longitude", "-180.5", "not in degrees from -180 to 180"),
            ("--longitude", "nan", "not in degrees"),
            ("--reset-at", "24:30", "no time of day; write it like 08:00"),
            ("--reset-at", "morning", "no time of day"),
        ],
    )
    def test_a_value_out_of_its_range_is_named(self, sheet, option, value, sentence):
        with pytest.raises(CommandError, match=sentence):
            chill(sheet, *SHEET, *PLACE, option, value)

    @pytest.mark.parametrize("longitude", ["-68.7", "-68", "-.5", "170"])
    def test_degrees_west_are_a_value_not_an_option(self, sheet, longitude):
        words = (*SHEET, "--latitude", "-45.5", "--longitude", longitude)
        assert figures(sheet, *words)["hours"] > 200


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
