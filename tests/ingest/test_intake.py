import gzip
import hashlib
import io
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.climate.models import LogImport, ReadingDay, Sensor
from wintering.climate.queries import readings
from wintering.ingest import intake
from wintering.ingest.channels import Channel
from wintering.ingest.intake import import_log
from wintering.ingest.keeping import Keeping
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.people.models import Event

pytestmark = pytest.mark.django_db

HEADING = "time,air_c,root_c,rh_pct"
ROWS = (
    "2024-11-30T10:00+00:00,1.5,0.9,88",
    "2024-11-30T10:10+00:00,1.25,,88",
    "2024-11-30T10:20+00:00,-0.5,0.85,88",
)
KEYS = [
    "read",
    "added",
    "marked",
    "unchanged",
    "replaced",
    "conflicts",
    "conflicts_count",
    "rejected",
    "rejected_count",
    "warnings",
    "first",
    "last",
    "min_c",
    "max_c",
    "sensors",
]


@pytest.fixture
def frame():
    return make.frame(name="Long frame")


def bring(frame, *rows, heading=HEADING, file_name="log.csv", by=None, **said):
    file = io.BytesIO("\n".join([heading, *(rows or ROWS)]).encode())
    return import_log(file=file, file_name=file_name, frame=frame, by=by, **said)


def channels(*texts):
    return [Channel.parse(text) for text in texts]


def everything():
    """All that an import may have left behind."""
    return (
        Sensor.objects.count(),
        ReadingDay.objects.count(),
        LogImport.objects.count(),
        Event.objects.count(),
    )


class TestTaking:
    def test_the_report_has_every_figure(self, frame):
        report = bring(frame, mapping=channels("air_c=A1:air", "root_c=R1:root"))
        told = report.as_json()
        assert list(told) == KEYS
        sensors = told.pop("sensors")
        assert told == {
            "read": 5,
            "added": 5,
            "marked": 0,
            "unchanged": 0,
            "replaced": 0,
            "conflicts": [],
            "conflicts_count": 0,
            "rejected": [],
            "rejected_count": 0,
            "warnings": ["Left out: rh_pct; take such a column too, to keep it."],
            "first": "2024-11-30T10:00:00+00:00",
            "last": "2024-11-30T10:20:00+00:00",
            "min_c": -0.5,
            "max_c": 1.5,
        }
        assert sensors["R1"]["read"] == 2
        assert (sensors["R1"]["min_c"], sensors["R1"]["max_c"]) == (0.85, 0.9)

    def test_readings_are_there_afterwards(self, frame):
        bring(frame, mapping=channels("air_c=A1:air"))
        assert readings(frame.sensors.get()).value.tolist() == [1.5, 1.25, -0.5]

    def test_without_a_mapping_every_temperature_column_becomes_a_sensor(self, frame):
        report = bring(frame)
        assert [(s.name, s.place) for s in frame.sensors.all()] == [
            ("air_c", "unknown"),
            ("root_c", "unknown"),
        ]
        assert "Place not known yet: air_c, root_c." in report.warnings[0]

    def test_humidity_is_taken_where_it_is_mapped(self, frame):
        report = bring(frame, mapping=channels("rh_pct=H1:air"))
        sensor = frame.sensors.get()
        assert (sensor.quantity, sensor.unit) == ("humidity", "pct")
        assert (report.read, report.min_c) == (3, None)
        assert report.first == "2024-11-30T10:00:00+00:00"

    def test_marked_readings_are_counted_and_left_out_of_the_extremes(self, frame):
        report = bring(frame, *ROWS, "2024-11-30T10:30+00:00,-127,0.8,88")
        assert (report.added, report.marked) == (7, 1)
        assert report.min_c == -0.5

    def test_a_unit_is_kept_and_extremes_are_told_in_celsius(self, frame):
        report = bring(
            frame, "2024-11-30T10:00Z,50", "2024-11-30T10:10Z,32", heading="time,air_f"
        )
        assert frame.sensors.get().unit == "f"
        assert (report.min_c, report.max_c) == (0.0, 10.0)

    def test_another_unit_is_turned_into_the_sensors_own(self, frame):
        make.sensor(frame=frame, name="A1", place="air")
        report = bring(
            frame,
            "2024-11-30T10:00Z,50",
            heading="time,air_f",
            mapping=channels("air_f=A1:air"),
        )
        assert report.max_c == 10.0
        assert "turned from F into C" in report.warnings[0]

    def test_a_microclimate_is_found_by_its_slug_or_name(self, frame):
        part = make.microclimate(frame=frame, name="Upper bench", slug="upper")
        bring(
            frame, mapping=channels("air_c=A1:air:upper", "root_c=R1:root:Upper bench")
        )
        assert {s.microclimate for s in frame.sensors.all()} == {part}

    def test_an_unplaced_sensor_is_placed_by_a_later_mapping(self, frame):
        bring(frame)
        bring(frame, mapping=channels("air_c=air_c:outside"))
        assert frame.sensors.get(name="air_c").place == "outside"

    def test_rejected_rows_are_listed_and_the_rest_goes_in(self, frame):
        report = bring(frame, *ROWS, "soon,2,2,2")
        assert [(r.row, r.reason) for r in report.rejected] == [
            (5, "no date and time can be read from 'soon'")
        ]
        assert report.added == 5


class TestRepeating:
    def test_the_same_file_changes_nothing(self, frame):
        bring(frame)
        before = everything()
        report = bring(frame)
        assert (report.added, report.unchanged) == (0, 5)
        assert everything() == before

    def test_a_longer_file_adds_what_is_new(self, frame):
        bring(frame)
        report = bring(frame, *ROWS, "2024-11-30T10:30+00:00,2.5,0.8,88")
        assert (report.added, report.unchanged) == (2, 5)
        assert LogImport.objects.count() == 2

    def test_a_conflict_names_row_sensor_time_and_both_values(self, frame):
        bring(frame)
        report = bring(frame, "2024-11-30T11:10+01:00,1.75,0.9,88")
        (conflict,) = report.as_json()["conflicts"]
        assert conflict == {
            "row": 2,
            "sensor": "air_c",
            "at": "2024-11-30T10:10:00+00:00",
            "stored": 1.25,
            "new": 1.75,
        }
        assert readings(frame.sensors.first()).value[1] == 1.25

    def test_every_value_read_is_accounted_for(self, frame):
        bring(frame)
        report = bring(frame, ROWS[0], "2024-11-30T10:10Z,7,7,7", *ROWS)
        accounted = report.added + report.unchanged + len(report.conflicts)
        assert report.read == accounted == 9


class TestHumidityOfAnotherName:
    heading = "time,air_c,Feuchte [%]"
    row = "2024-11-30T10:00Z,1.5,88"

    @pytest.mark.parametrize("mapping", [None, channels("air_c=A1:air")])
    def test_it_is_listed_where_it_is_left_out(self, frame, mapping):
        report = bring(frame, self.row, heading=self.heading, mapping=mapping)
        told = "Left out: Feuchte [%]; take such a column too, to keep it."
        assert told in report.warnings

    def test_it_is_taken_by_whoever_knows_it(self, frame):
        mapping = channels("Feuchte [%]=H1:air")
        bring(frame, self.row, heading=self.heading, mapping=mapping)
        sensor = frame.sensors.get()
        assert (sensor.quantity, sensor.unit) == ("humidity", "pct")
        assert readings(sensor).value.tolist() == [88]

    @pytest.mark.parametrize("taken", [None, ["P1", "hygro"]])
    def test_a_name_whose_rows_say_percent_is_one_too(self, frame, taken):
        rows = ("2024-11-30T10:00Z,P1,1.5,C", "2024-11-30T10:00Z,hygro,88,%")
        mapping = taken and [Channel(name, name) for name in taken]
        told = bring(frame, *rows, heading="time,sensor,value,unit", mapping=mapping)
        left = "Left out: hygro; take such a column too, to keep it." in told.warnings
        assert left == (taken is None)
        found = {sensor.name: sensor.quantity for sensor in frame.sensors.all()}
        assert found == {"P1": "temperature"} | ({"hygro": "humidity"} if taken else {})


class TestRemembering:
    naive = ("2024-11-30 10:00,1.5", "2024-11-30 10:10,1.4")

    def test_the_zone_is_asked_for_once(self, frame):
        with pytest.raises(LogQuestion) as asked:
            bring(frame, *self.naive, heading="time,air_c")
        assert asked.value.about == "zone"
        bring(frame, *self.naive, heading="time,air_c", zone="-05:00")
        frame.refresh_from_db()
        report = bring(frame, *self.naive, "2024-11-30 10:20,1", heading="time,air_c")
        assert (report.added, report.last) == (1, "2024-11-30T15:20:00+00:00")
        assert "Times are read as -05:00" in report.warnings[0]

    def test_another_zone_may_be_said_the_next_time(self, frame):
        bring(frame, *self.naive, heading="time,air_c", zone="-05:00")
        report = bring(frame, *self.naive, heading="time,air_c", zone="+00:00")
        assert report.added == 2

    def test_a_log_with_offsets_does_not_change_what_is_remembered(self, frame):
        bring(frame, *self.naive, heading="time,air_c", zone="-05:00")
        bring(frame, zone="+09:00")
        assert frame.log_habits["zone"] == "-05:00"

    def test_the_date_order_is_asked_for_once(self, frame):
        rows = ("03/11/2024 10:00,1.5",)
        with pytest.raises(LogQuestion) as asked:
            bring(frame, *rows, heading="time,air_c", zone="UTC")
        assert asked.value.about == "date_order"
        bring(frame, *rows, heading="time,air_c", zone="UTC", date_order="dmy")
        report = bring(frame, "04/11/2024 10:00,1.5", heading="time,air_c")
        assert report.first == "2024-11-04T10:00:00+00:00"

    american = ("11/08/2026 10:00,1.5", "11/13/2026 10:00,1.5")

    @pytest.mark.parametrize(
        ("heading", "row"),
        [
            ("time,air_c", "09.11.2026 00:00,3.5"),
            ("time;air_c", "09/11/2026 00:00;3.5"),
            ("time,root_c", "09/11/2026 00:00,3.5"),
            ("time,air_c,root_c", "09/11/2026 00:00,3.5,1"),
            ("time,air_c", "09/11/26 00:00,3.5"),
            ("time,air_c", "09/11/2026 00:00 AM,3.5"),
        ],
    )
    def test_another_loggers_date_order_is_not_taken_over(self, frame, heading, row):
        bring(frame, *self.american, heading="time,air_c", zone="UTC")
        with pytest.raises(LogQuestion) as asked:
            bring(frame, row, heading=heading)
        assert asked.value.about == "date_order"

    def test_a_log_without_headings_is_not_known_again(self, frame):
        rows = ("11/09/2026 10:00,1.5", "11/10/2026 10:00,1.4")
        said = {"zone": "UTC", "unit": "c", "date_order": "mdy"}
        bring(frame, *rows[1:], heading=rows[0], **said)
        with pytest.raises(LogQuestion) as asked:
            bring(frame, *rows[1:], heading=rows[0], unit="c")
        assert asked.value.about == "date_order"

    def test_each_way_of_writing_keeps_its_own_order(self, frame):
        bring(frame, *self.american, heading="time,air_c", zone="UTC")
        german = "time;luft_c"
        bring(frame, "09.11.2026 00:00;3,5", heading=german, date_order="dmy")
        assert bring(frame, "10.11.2026 00:00;3,5", heading=german).last[:7] == (
            "2026-11"
        )
        report = bring(frame, "11/09/2026 10:00,1.4", heading="time,air_c")
        assert report.last == "2026-11-09T10:00:00+00:00"
        assert report.added == 1
        assert any(
            "Dates such as 11/09/2026 10:00 are read month first, like" in warning
            for warning in report.warnings
        )

    def test_columns_are_remembered(self, frame):
        bring(frame, mapping=channels("air_c=A1:air"))
        assert frame.log_habits["columns"]["air_c"]["sensor"] == "A1"


class TestOtherSettings:
    def test_conflicts_of_the_same_file_read_otherwise_are_kept(self, frame):
        rows = ("2024-11-30T10:00Z,34", "2024-11-30T10:10Z,35")
        bring(frame, *rows, heading="time,root", unit="c")
        report = bring(frame, *rows, heading="time,root", unit="f")
        assert report.conflicts_count == 2
        assert LogImport.objects.first().conflict_days.get().count == 2


class TestTimesAhead:
    def test_readings_in_the_future_are_kept_and_told_of(self, frame, time_machine):
        time_machine.move_to("2024-11-30T10:09:00+00:00", tick=False)
        report = bring(frame)
        assert report.added == 5
        told = [w for w in report.warnings if "in the future" in w]
        assert [w.split()[0] for w in told] == ["air_c", "root_c"]
        assert "the last at 2024-11-30T10:20:00+00:00" in told[0]

    def test_a_clock_a_little_ahead_is_not(self, frame, time_machine):
        time_machine.move_to("2024-11-30T10:16:00+00:00", tick=False)
        assert not any("in the future" in w for w in bring(frame).warnings)


class TestKeeping:
    def test_the_file_is_kept_whole_under_its_hash(self, frame, settings):
        keeper = make.keeper()
        bring(frame, by=keeper)
        came = LogImport.objects.get()
        blob = "\n".join([HEADING, *ROWS]).encode()
        assert came.sha256 == hashlib.sha256(blob).hexdigest()
        kept = Path(settings.MEDIA_ROOT) / came.kept
        assert gzip.decompress(kept.read_bytes()) == blob
        assert (came.by, came.report["added"]) == (keeper, 5)
        assert Event.objects.about(frame).get().by == keeper

    def test_a_dry_run_tells_the_same_and_keeps_nothing(self, frame, settings):
        before = everything()
        dry = bring(frame, dry_run=True)
        assert everything() == before
        assert not list(Path(settings.MEDIA_ROOT).rglob("*.*"))
        frame.refresh_from_db()
        assert frame.log_habits == {}
        assert dry == bring(frame)

    @pytest.mark.parametrize(
        ("where", "broken"),
        [(Keeping, "keep"), (intake, "_note"), (intake, "_left_out")],
    )
    def test_a_run_that_is_cut_off_leaves_nothing(
        self, frame, settings, monkeypatch, where, broken
    ):
        def stop(*args, **kwargs):
            raise KeyboardInterrupt

        monkeypatch.setattr(where, broken, stop)
        before = everything()
        with pytest.raises(KeyboardInterrupt):
            bring(frame)
        assert everything() == before
        assert not list(Path(settings.MEDIA_ROOT).rglob("*.*"))


class TestRefusing:
    @pytest.mark.parametrize(
        ("mapping", "sentence"),
        [
            (["nope=A1:air"], "no column 'nope'"),
            (["air_c=A1:air:attic"], "no microclimate 'attic'; it has: floor"),
            (["air_c=A1:air", "air_c=A2:air"], "column air_c is named twice"),
            (["air_c=A1:air", "root_c=A1:root"], "sensor A1 is named twice"),
            (["air_c=R9:air"], "is known as root zone, not air"),
            (["air_c=H9:air"], "measures relative humidity, column air_c holds"),
            (["air_c=" + "x" * 81 + ":air"], "at most 80 characters"),
        ],
    )
    def test_a_mapping_that_does_not_fit_is_refused(self, frame, mapping, sentence):
        make.microclimate(frame=frame, name="Floor", slug="floor")
        make.sensor(frame=frame, name="R9", place="root")
        make.sensor(frame=frame, name="H9", quantity="humidity", unit="pct")
        before = everything()
        with pytest.raises(LogRefused, match=sentence):
            bring(frame, mapping=channels(*mapping))
        assert everything() == before

    def test_the_browsers_limit_of_size_is_not_one_of_reading(self, frame, settings):
        settings.LOG_LIMIT_MB = 0
        assert bring(frame).added == 5

    def test_a_helper_brings_in_logs_and_a_client_does_not(self, frame):
        assert bring(frame, by=make.helper()).added == 5
        with pytest.raises(ValidationError, match="Only those who work here"):
            bring(frame, by=make.user("client"))
