"""The two commands as a shell sees them: what is printed where, and the exit code."""

import json

import pytest
from django.core.management import get_commands, load_command_class
from django.db import connections

from tests import make
from wintering.climate.models import LogImport, ReadingDay, Sensor

CHILL_KEYS = [
    "hours",
    "bridged_hours",
    "gap_hours",
    "chill_hours_0_7",
    "chill_hours_below_7",
    "utah",
    "utah_positive",
    "portions",
    "gdh_linear",
    "gdh_curvilinear",
    "chill_hours_0_7_high",
    "portions_high",
]


@pytest.fixture
def run(monkeypatch, capsys):
    """Runs a command; gives exit code, stdout and stderr."""
    # The test's own transaction lives on this connection.
    monkeypatch.setattr(connections, "close_all", lambda: None)

    def run(name, *words):
        command = load_command_class(get_commands()[name], name)
        code = 0
        try:
            command.run_from_argv(["manage.py", name, *map(str, words)])
        except SystemExit as left:
            code = left.code
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def hours(day, values, form="2024-11-{:02}T{:02}:00Z,{}"):
    return [form.format(day, hour, value) for hour, value in enumerate(values)]


@pytest.fixture
def day_at_five(log_file):
    return log_file("time,air_c", *hours(30, [5] * 24))


class TestChill:
    """None of these has a database."""

    def test_json_has_every_figure_and_nothing_else(self, run, day_at_five):
        code, out, err = run("chill", day_at_five, "--format", "json")
        assert (code, err) == (0, "")
        figures = json.loads(out)
        assert list(figures) == CHILL_KEYS
        # 24 h at 5 °C: one chill hour and one Utah unit each; linear GDH are
        # degrees above 4.5 °C, so half a degree an hour.
        assert figures["hours"] == figures["chill_hours_0_7"] == 24
        assert figures["utah"] == figures["utah_positive"] == 24.0
        assert figures["gdh_linear"] == pytest.approx(24 * 0.5)

    def test_text_names_the_units(self, run, day_at_five):
        code, out, _ = run("chill", day_at_five)
        assert code == 0
        assert "Chill hours, 0.0 to 7.2 °C" in out
        assert "24 h" in out

    def test_short_gaps_are_bridged_and_long_ones_counted(self, run, log_file):
        lines = hours(30, [5] * 24)
        path = log_file("time,air_c", *lines[:3], *lines[5:9], *lines[15:])
        _, out, _ = run("chill", path, "--format", "json")
        figures = json.loads(out)
        assert (figures["hours"], figures["bridged_hours"]) == (18, 2)
        assert figures["gap_hours"] == 6
        assert figures["chill_hours_0_7"] == 18
        assert figures["chill_hours_0_7_high"] == 24

    def test_start_and_end_are_days_of_the_logger_and_end_is_left_out(
        self, run, log_file
    ):
        form = "2024-11-{:02}T{:02}:00+02:00,{}"
        lines = [line for day in (28, 29, 30) for line in hours(day, [day] * 24, form)]
        path = log_file("time,air_c", *lines)
        words = ("--start", "2024-11-29", "--end", "2024-11-30", "--format", "json")
        _, out, _ = run("chill", path, *words)
        figures = json.loads(out)
        assert (figures["hours"], figures["gap_hours"]) == (24, 0)
        assert figures["gdh_linear"] == pytest.approx(24 * (25 - 4.5))

    def test_an_offset_in_the_file_wins(self, run, day_at_five):
        words = ("--start", "2024-11-30", "--end", "2024-12-01", "--format", "json")
        _, plain, _ = run("chill", day_at_five, *words)
        _, other, _ = run("chill", day_at_five, *words, "--tz", "-11:00")
        assert plain == other

    @pytest.mark.parametrize("written", [["--tz", "-05:00"], ["--tz=-05:00"]])
    def test_an_offset_is_a_value_not_an_option(self, run, log_file, written):
        path = log_file("time,air_c", *hours(30, [5] * 24, "2024-11-{:02} {:02}:00,{}"))
        code, out, err = run("chill", path, *written, "--format", "json")
        assert (code, err) == (0, "")
        assert json.loads(out)["hours"] == 24

    def test_sensor_faults_are_left_out_and_told_on_stderr(self, run, log_file):
        path = log_file("time,air_c", *hours(30, [5] * 12 + [-127] + [5] * 11))
        code, out, err = run("chill", path, "--format", "json")
        assert (code, json.loads(out)["bridged_hours"]) == (0, 1)
        assert err.startswith("1 readings set aside: ")

    def test_a_unit_is_said_where_the_file_does_not(self, run, log_file):
        path = log_file("time,air", *hours(30, [41] * 24))
        code, _, err = run("chill", path)
        assert code == 1
        assert err.endswith("say which. Use --unit.\n")
        _, out, _ = run("chill", path, "--unit", "f", "--format", "json")
        assert json.loads(out)["chill_hours_0_7"] == 24

    @pytest.mark.parametrize(
        ("lines", "words", "sentence"),
        [
            (
                ["time,a_c,b_c", "2024-11-30T10:00Z,1,2"],
                [],
                "columns: a_c, b_c; choose",
            ),
            (
                ["time,a_c,b_c", "2024-11-30T10:00Z,1,2"],
                ["--column", "d"],
                "column 'd'",
            ),
            (
                ["time,a_c,rh_pct", "2024-11-30T10:00Z,1,2"],
                ["--column", "rh_pct"],
                "not",
            ),
            (["time,a_c", "2024-11-30 10:00,1"], [], "Use --tz."),
            (["time,a_c", "03/11/2024 10:00,1"], ["--tz", "UTC"], "Use --date-order."),
            (
                ["time,a_c", "2024-11-30T10:00Z,1"],
                ["--start", "2025-01-01"],
                "run from",
            ),
            (["time,a_c", "2024-11-30T10:00Z,-127"], [], "no reading to count"),
            ([""], [], "is empty"),
        ],
    )
    def test_what_cannot_be_read_exits_1_with_one_line(
        self, run, log_file, lines, words, sentence
    ):
        code, out, err = run("chill", log_file(*lines), *words, "--format", "json")
        assert (code, out) == (1, "")
        assert sentence in err
        assert err.count("\n") == 1

    def test_a_file_that_is_not_there_exits_1(self, run, tmp_path):
        code, _, err = run("chill", tmp_path / "none.csv")
        assert (code, err.count("\n")) == (1, 1)
        assert "cannot be read: no such file" in err

    @pytest.mark.parametrize(
        "words",
        [
            ["--start", "yesterday"],
            ["--tz", "Mars"],
            ["--unit", "r"],
            ["--format", "xml"],
            ["--nonsense"],
            ["--start", "2024-12-02", "--end", "2024-12-01"],
        ],
    )
    def test_a_wrong_command_line_exits_2(self, run, day_at_five, words):
        code, out, _ = run("chill", day_at_five, *words)
        assert (code, out) == (2, "")

    def test_no_log_at_all_exits_2(self, run):
        assert run("chill")[0] == 2


@pytest.mark.django_db
class TestImportLog:
    @pytest.fixture
    def frame(self):
        return make.frame(slug="long")

    def test_json_is_the_report_and_nothing_else(self, run, frame, day_at_five):
        words = ("--frame", "long", "--map", "air_c=A1:air", "--format", "json")
        code, out, _ = run("import_log", day_at_five, *words)
        report = json.loads(out)
        assert (code, report["added"], report["min_c"]) == (0, 24, 5.0)
        assert Sensor.objects.get().name == "A1"
        assert LogImport.objects.get().by is None

    def test_text_tells_what_came_in(self, run, frame, log_file):
        path = log_file("time,air_c,rh_pct", *hours(30, ["5,80"] * 24), "soon,1,1")
        words = ("--frame", "long", "--map", "air_c=A1:air", "--map", "rh_pct=H1:air")
        code, out, _ = run("import_log", path, *words)
        assert code == 0
        assert "48 values read: 48 added" in out
        assert "A1 (air): 24 added, 5.00 to 5.00 °C" in out
        assert "Row 26 left out: no date and time can be read from 'soon'." in out

    def test_a_dry_run_stores_nothing(self, run, frame, day_at_five):
        code, out, _ = run("import_log", day_at_five, "--frame", "long", "--dry-run")
        assert code == 0
        assert out.startswith("Nothing was stored")
        assert not ReadingDay.objects.exists()

    @pytest.mark.parametrize(
        ("line", "words", "sentence"),
        [
            (
                "2024-11-30T10:00Z,1",
                ["--frame", "attic"],
                "no frame 'attic'; there is: long",
            ),
            ("2024-11-30 10:00,1", ["--frame", "long"], "Use --tz."),
            (
                "2024-11-30T10:00Z,1",
                ["--frame", "long", "--map", "b=B:air"],
                "column 'b'",
            ),
            ("2024-11-30T10:00Z,x", ["--frame", "long"], "no readable row"),
        ],
    )
    def test_a_refusal_exits_1_with_one_line_and_stores_nothing(
        self, run, frame, log_file, line, words, sentence
    ):
        code, out, err = run("import_log", log_file("time,air_c", line), *words)
        assert (code, out) == (1, "")
        assert sentence in err
        assert err.count("\n") == 1
        assert not Sensor.objects.exists()
        assert not LogImport.objects.exists()

    @pytest.mark.parametrize(
        "words",
        [
            [],
            ["--frame", "long", "--map", "air_c=A1"],
            ["--frame", "long", "--map", "air_c=A1:attic"],
            ["--frame", "long", "--date-order", "ydm"],
        ],
    )
    def test_a_wrong_command_line_exits_2(self, run, frame, day_at_five, words):
        assert run("import_log", day_at_five, *words)[0] == 2
