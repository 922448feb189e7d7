"""Logs that name the sensor in each row: every name is a channel of its own."""

import io

import pytest

from tests import make
from wintering.climate.queries import readings
from wintering.ingest.channels import Channel
from wintering.ingest.intake import import_log
from wintering.ingest.preview import preview
from wintering.ingest.reading import NO_VALUE, Answers, read_log
from wintering.ingest.refusals import LogQuestion, LogRefused

ROWS = (
    "2024-11-30T10:00Z,P1,1.5",
    "2024-11-30T10:00Z,P2,0.9",
    "2024-11-30T10:10Z,P1,1.25",
    "2024-11-30T10:10Z,P2,",
)


def read(heading, *rows, columns=None, **said):
    file = io.BytesIO("\n".join([heading, *rows, ""]).encode())
    return read_log(file, name="log", answers=Answers.of(**said), columns=columns)


def told(log):
    """What each column holds, rows of other names left out."""
    return {
        column.name: [v for v in column.values.tolist() if v != NO_VALUE]
        for column in log.columns
    }


@pytest.mark.parametrize(
    "heading", ["sensor", "Sensor name", "probe", "channel", "id", "name", "station"]
)
def test_each_name_is_a_channel(heading):
    log = read(f"time,{heading},value_c", *ROWS)
    assert told(log) == {"P1": [1500, 1250], "P2": [900]}
    assert log.row.tolist() == [2, 3, 4, 5]


def test_rows_sensor_after_sensor_are_the_same():
    log = read("time,sensor,value_c", *sorted(ROWS, key=lambda row: row[18:20]))
    assert told(log) == {"P1": [1500, 1250], "P2": [900]}
    assert not log.warnings


def test_several_value_columns_are_named_with_the_name():
    rows = ("2024-11-30T10:00Z,P1,1.5,0.5", "2024-11-30T10:00Z,P2,2.5,0.7")
    log = read("time,probe,air_c,root_c", *rows)
    assert told(log) == {
        "P1 air_c": [1500],
        "P1 root_c": [500],
        "P2 air_c": [2500],
        "P2 root_c": [700],
    }


def test_numbers_name_a_channel_under_a_heading_that_can_mean_nothing_else():
    rows = ("2024-11-30T10:00Z,1,1.5", "2024-11-30T10:00Z,2,2.5")
    assert told(read("time,channel,value_c", *rows)) == {"1": [1500], "2": [2500]}


def test_one_name_under_a_likely_heading_tells_no_sensors_apart():
    log = read("time,station,air_c", "2024-11-30T10:00Z,North,1.5")
    assert told(log) == {"air_c": [1500]}


def test_one_name_under_a_sure_heading_is_the_channel_and_the_column_is_known_too():
    row = "2024-11-30T10:00Z,P1,1.5"
    assert told(read("time,sensor,value_c", row)) == {"P1": [1500]}
    assert told(read("time,sensor,value_c", row, columns=["value_c"])) == {"P1": [1500]}


def test_two_columns_of_names_are_one_name():
    rows = ("2024-11-30T10:00Z,A,1,1.5", "2024-11-30T10:00Z,B,1,2.5")
    log = read("time,logger,channel,value_c", *rows)
    assert told(log) == {"A 1": [1500], "B 1": [2500]}


def test_quantities_in_the_rows_are_told_apart():
    rows = (
        "2024-11-30T10:00Z,P1,temperature,1.5,°C",
        "2024-11-30T10:00Z,P1,humidity,88,%",
        "2024-11-30T10:00Z,P1,battery,3.1,V",
    )
    heading = "time,sensor,quantity,value,unit"
    log = read(heading, *rows)
    assert told(log) == {"P1 temperature": [1500]}
    log = read(heading, *rows, columns=["P1 humidity"])
    assert told(log) == {"P1 humidity": [88000]}
    assert log.columns[0].quantity == "humidity"
    with pytest.raises(LogRefused, match="P1 battery is not a temperature"):
        read(heading, *rows, columns=["P1 battery"])


def test_each_name_may_have_its_own_unit():
    rows = ("2024-11-30T10:00Z,P1,1.5,C", "2024-11-30T10:00Z,P2,35.5,F")
    log = read("time,sensor,value,unit", *rows)
    assert [(c.name, c.unit) for c in log.columns] == [("P1", "c"), ("P2", "f")]
    assert not log.warnings


def test_a_name_with_several_units_is_turned_row_by_row():
    rows = ("2024-11-30T10:00Z,P1,1.5,C", "2024-11-30T11:00Z,P1,50,F")
    log = read("time,sensor,value,unit", *rows)
    assert (log.columns[0].unit, told(log)) == ("c", {"P1": [1500, 10000]})
    assert log.warnings == (
        "Column P1 says in each row which unit it is in: 1 in °F are turned into °C, "
        "1 stay as they are.",
    )


def test_a_name_without_a_unit_is_asked_about_where_it_may_be_another():
    with pytest.raises(LogQuestion, match="column P2 does not say its unit") as asked:
        read("time,sensor,value", "2024-11-30T10:00Z,P1,4", "2024-11-30T10:00Z,P2,40")
    assert asked.value.about == "unit"


def test_a_row_that_names_no_sensor_is_rejected():
    log = read("time,sensor,value_c", *ROWS, "2024-11-30T10:20Z,,7")
    assert [(r.row, r.reason) for r in log.rejected] == [
        (6, "it does not name its sensor")
    ]
    assert told(log) == {"P1": [1500, 1250], "P2": [900]}


def test_too_many_names_are_refused():
    rows = [f"2024-11-30T10:00Z,note {n},1.5" for n in range(1001)]
    with pytest.raises(LogRefused, match="more than 1000 sensors"):
        read("time,name,value_c", *rows)


def test_a_clock_put_back_is_placed_name_by_name():
    shown = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    rows = [f"2024-11-03 {at},{p},1" for p in ("P1", "P2") for at in shown]
    log = read("time,sensor,value_c", *rows, zone="America/New_York")
    steps = [1800 * i for i in range(6)]
    assert (log.seconds - log.seconds[0]).tolist() == steps * 2
    rows = [f"2024-11-03 {at},{p},1" for at in shown for p in ("P1", "P2")]
    log = read("time,sensor,value_c", *rows, zone="America/New_York")
    assert (log.seconds - log.seconds[0]).tolist() == [s for s in steps for _ in "12"]
    assert not log.warnings


@pytest.mark.django_db
class TestImport:
    def bring(self, **said):
        frame = make.frame()
        text = "\n".join(["time,sensor,value_c", *ROWS])
        file = io.BytesIO(text.encode())
        report = import_log(
            file=file, file_name="log.csv", frame=frame, by=None, **said
        )
        return frame, report

    def test_every_name_becomes_a_sensor(self):
        frame, report = self.bring()
        assert list(report.sensors) == ["P1", "P2"]
        assert readings(frame.sensors.get(name="P1")).value.tolist() == [1.5, 1.25]
        assert report.read == 3

    def test_a_mapping_uses_the_name(self):
        frame, report = self.bring(mapping=[Channel.parse("P2=R1:root")])
        sensor = frame.sensors.get()
        assert (sensor.name, sensor.place, report.added) == ("R1", "root", 1)
        assert "Left out: P1; take such a column too, to keep it." in report.warnings

    def test_the_preview_shows_the_names(self):
        text = "\n".join(["time,sensor,value_c", *ROWS])
        seen = preview(file=io.BytesIO(text.encode()), file_name="log.csv", frame=None)
        assert [(c.name, c.quantity, c.unit, c.values) for c in seen.columns] == [
            ("P1", "temperature", "°C", 2),
            ("P2", "temperature", "°C", 1),
        ]
