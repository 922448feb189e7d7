"""Totals of a sheet with one minimum and one maximum a day, through the command."""

import numpy as np
import pytest
from django.core.management.base import CommandError

from tests.ingest.sheets import FIRST, PLACE, SHEET, chill, days, figures
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

    def test_rough_figures_are_shown_without_decimals(self, log_file):
        rows = days(*[(2.3 + n / 7, 9.1 + n / 3) for n in range(10)])
        path = log_file("day,low_c,high_c", *rows)
        shown = chill(path, *SHEET, *PLACE)[0]
        rough = [line for line in shown.splitlines() if ", rough" in line]
        assert [line.split()[-3:] for line in rough] == [
            [f"{figures(path, *SHEET, *PLACE)[name]:,.0f}", "°C", "h"]
            for name in ("gdh_linear_rough", "gdh_curvilinear_rough")
        ]

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
