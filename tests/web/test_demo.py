"""The demo: loaded once by its command, the story found again in the database."""

import json
from datetime import date, datetime
from decimal import Decimal
from io import StringIO
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import override_settings

from tests import make
from wintering.care.models import Observation, Round, Watering
from wintering.clients.models import Agreement
from wintering.climate.models import LogImport, ReadingDay, Sensor
from wintering.climate.queries import extremes
from wintering.forecast.models import Flag
from wintering.frames.models import Frame, Module
from wintering.people.models import Event, User
from wintering.stays.models import Placement, Stay
from wintering.stays.queries import frame_plan, places_on
from wintering.trees.models import Evidence, TaxonFact, Tree
from wintering.web.demo import belongings

# The Wednesday after the freeze, in the story's own winter: no day is moved.
NOW = datetime(2025, 1, 22, 12, tzinfo=ZoneInfo("America/New_York"))
TODAY = NOW.date()
HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def run_demo(*words: str) -> dict:
    out = StringIO()
    call_command(
        "demo", "--no-serve", "--format", "json", *words, stdout=out, stderr=StringIO()
    )
    return json.loads(out.getvalue())


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker, tmp_path_factory):
    """The demo as its command loads and prints it, undone after the last test."""
    place = tmp_path_factory.mktemp("demo")
    with (
        django_db_blocker.unblock(),
        override_settings(
            DATA_DIR=place, MEDIA_ROOT=place / "files", PASSWORD_HASHERS=HASHERS
        ),
        time_machine.travel(NOW, tick=False),
        transaction.atomic(),
    ):
        yield run_demo("--port", "8123")
        transaction.set_rollback(True)


def rows() -> dict[str, int]:
    tables = (User, Tree, Stay, Placement, Round, Observation, Watering, TaxonFact)
    tables += (ReadingDay, LogImport, Flag, Event, Agreement, Module)
    return {table.__name__: table.objects.count() for table in tables}


def tree(number: str) -> Tree:
    return Tree.objects.get(number=number)


def test_it_prints_the_address_the_people_and_the_frames(demo):
    assert demo["url"] == "http://127.0.0.1:8123/"
    assert demo["frames"] == ["long-frame", "shed"]
    roles = {person["username"]: person["role"] for person in demo["users"]}
    assert roles == {
        "hana": "keeper",
        "emil": "helper",
        "noa": "client",
        "karin": "client",
        "mika": "client",
    }


def test_everyone_can_sign_in_with_the_printed_password(demo, client):
    for person in demo["users"]:
        assert client.login(username=person["username"], password=person["password"]), (
            person["username"]
        )


def test_passwords_are_readable_by_their_owner_only_and_not_in_the_database(demo):
    place = belongings.passwords_file()
    assert place.stat().st_mode & 0o077 == 0
    kept = set(User.objects.values_list("password", flat=True))
    assert not kept & {person["password"] for person in demo["users"]}


def test_a_second_run_changes_nothing_and_prints_the_same(demo):
    before = rows()
    again = run_demo("--port", "8123")
    assert again == demo
    assert rows() == before


def test_the_second_run_says_where_the_passwords_went_if_they_are_gone(demo):
    kept = belongings.passwords_file().read_text()
    belongings.passwords_file().unlink()
    try:
        with pytest.raises(CommandError, match=r"Load it anew with --reset\."):
            run_demo()
    finally:
        belongings.keep_passwords(json.loads(kept))


def test_trees_have_the_storys_numbers_measures_and_owners(demo):
    assert Tree.objects.count() == 41
    larch = tree("T-028")
    assert larch.name == "Larix kaempferi"
    assert larch.original_script == "唐松"
    assert (larch.height_cm, larch.canopy_width_cm, larch.weight_kg) == (78, 44, 16)
    assert larch.owner.name == "Karin Tovasel"
    assert tree("T-027").name == "Chaenomeles (garden hybrids) 'Chojubai'"
    assert tree("T-027").pots.get().lip_turns_in is True
    assert tree("T-001").owner is None


def test_stays_carry_check_in_declared_value_and_planned_collection(demo):
    assert Stay.objects.count() == 23
    stay = tree("T-025").stays.get()
    assert (stay.since, stay.planned_until) == (date(2024, 10, 5), date(2025, 5, 17))
    assert stay.declared_tree_value == Decimal(1150)
    report = tree("T-023").condition_reports.get()
    assert "6 cm glaze chip" in report.findings


def test_agreements_are_those_of_the_story(demo):
    noa = Agreement.objects.get(client__mark="CA")
    assert (noa.winter, noa.trees_agreed) == (2024, 9)
    assert (noa.fee_per_module, noa.deposit, noa.may_spend) == (38, 150, 75)
    assert noa.wake_at_night is False
    mika = Agreement.objects.get(client__mark="CC")
    assert mika.trees_agreed == 6
    assert "signed on 19 October 2024" in mika.terms


def test_the_long_frame_is_ruled_in_the_storys_modules(demo):
    frame = Frame.objects.get(slug="long-frame")
    assert Module.objects.filter(bench__frame=frame).count() == 102
    # Column 1 is at the door, which is on the right of the plan: N1 begins at 03.
    near = Module.objects.get(label="N1-03f")
    far = Module.objects.get(label="N1-12f")
    assert near.bench.x_cm + near.x_cm == 405
    assert far.bench.x_cm + far.x_cm == 0
    # The front row lies along the aisle, which is 90 to 150 cm up the plan.
    assert near.bench.y_cm + near.y_cm == 150
    south = Module.objects.get(label="S1-01f")
    assert south.bench.y_cm + south.y_cm + south.depth_cm == 90


def test_outlet_columns_have_the_warmer_floor(demo):
    at_outlet = Module.objects.filter(microclimate__name="outlet floor")
    assert {module.label.split("-")[1][:2] for module in at_outlet} == {"11", "12"}
    assert at_outlet.count() == 8


def test_trees_stand_where_the_layout_has_them(demo):
    layout = places_on(Tree.objects.all(), date(2024, 11, 17))
    labels = {tree.number: layout[tree.pk].labels for tree in Tree.objects.all()}
    assert len(labels) == 41
    assert labels["T-002"] == ("NB-01b", "NB-02b")
    assert labels["T-041"] == ("S1-05b",)
    assert labels["T-012"] == ("N1-04b",)


def test_the_plan_holds_every_tree_but_none_twice(demo):
    plan = frame_plan(Frame.objects.get(slug="long-frame"), TODAY)
    standing = [
        tree.number for level in plan.levels for b in level.benches for tree in b.trees
    ]
    assert sorted(standing) == sorted(Tree.objects.values_list("number", flat=True))


def test_history_is_kept_of_the_suspect_tree(demo):
    placements = tree("T-041").placements.order_by("since")
    assert [p.modules.get().label for p in placements] == ["Q1-01", "S1-05b"]
    assert placements[0].until == date(2024, 11, 17)
    findings = tree("T-041").condition_reports.order_by("on", "pk")
    assert [report.pests for report in findings] == ["found"] * 3 + ["none_found"]


def test_the_logs_came_in_by_the_ordinary_way(demo):
    assert LogImport.objects.count() == 5
    logged = Sensor.objects.filter(is_min_max=False)
    places = dict(logged.values_list("name", "place"))
    assert places == {
        "A1": "air",
        "A2": "air",
        "R1": "root",
        "R2": "root",
        "G1": "ground",
        "P1": "air",
        "O1": "outside",
        "H1": "air",
    }
    assert Sensor.objects.get(name="O1").unit == "f"
    humid = Sensor.objects.get(name="H1")
    assert (humid.quantity, humid.unit) == ("humidity", "pct")
    assert humid.microclimate.name == "rear bench"


def test_the_freeze_is_in_the_readings(demo):
    sensors = {sensor.name: sensor for sensor in Sensor.objects.all()}
    found = extremes(list(sensors.values()))
    assert found[sensors["R1"].pk].lowest == pytest.approx(-2.9)
    assert found[sensors["A1"].pk].lowest == pytest.approx(-8.0)
    # -31.4 °C, written as -24.5 °F.
    assert found[sensors["O1"].pk].lowest == pytest.approx(-31.4, abs=0.05)
    coldest = found[sensors["R1"].pk].lowest_at.astimezone(NOW.tzinfo)
    assert coldest.isoformat() == "2025-01-21T08:00:00-05:00"


def test_readings_end_now(demo):
    last = ReadingDay.objects.filter(sensor__name="A1").order_by("-day").first().last_at
    assert (NOW - last).total_seconds() < 600


def test_the_repotted_elm_left_behind_is_flagged_and_no_tree_passed_its_act_value(demo):
    cold = Flag.objects.filter(kind=Flag.Kind.ROOTS_TOO_COLD)
    assert "T-012" in {flag.tree.number for flag in cold}
    assert not cold.filter(level=Flag.Level.TONIGHT).exists()


def test_the_larch_that_stands_too_warm_is_flagged_as_waking(demo):
    waking = Flag.objects.standing().filter(kind=Flag.Kind.WAKING_EARLY)
    numbers = {flag.tree.number for flag in waking}
    # These wake early and stood where the mild days were warm enough, on the rear bench
    # and under the ridge; the other larches stand in the cold floor bay.
    assert numbers == {"T-028", "T-030", "T-040"}


def test_the_cold_week_favours_no_mould_and_dries_no_tree_beyond_a_limit(demo):
    # Near 0 °C wet hours count for little, and so does what the damp air still lacks.
    moist = (Flag.Kind.GREY_MOULD, Flag.Kind.DRYING_OUT)
    assert not Flag.objects.filter(kind__in=moist).exists()


def test_every_flag_has_evidence_with_a_source(demo):
    assert Flag.objects.exists()
    for flag in Flag.objects.all():
        assert flag.evidence
        assert all(piece["source"] for piece in flag.evidence), flag


def test_rounds_and_waterings_are_there_up_to_now(demo):
    assert Round.objects.count() == 32
    assert Watering.objects.count() == 206
    assert not Round.objects.filter(at__gt=NOW).exists()
    last = Round.objects.first()
    assert "T-012 was on the list but left behind" in last.note


def test_the_keepers_own_figures_name_the_keeper_and_a_reason(demo):
    own = TaxonFact.objects.filter(kind=Evidence.OWN)
    assert own.count() == 7
    assert {fact.by.username for fact in own} == {"hana"}
    assert all(fact.source.startswith("Own figure") for fact in own)


def test_nothing_lies_ahead_as_done(demo):
    assert not Stay.objects.filter(until__isnull=False).exists()
    assert not Placement.objects.filter(since__gt=TODAY).exists()
    assert Stay.objects.filter(planned_until__gt=TODAY).count() == 23


def test_a_reset_loads_it_anew_with_new_passwords(demo):
    before = rows()
    kept = Path(belongings.settings.MEDIA_ROOT) / LogImport.objects.first().kept
    with transaction.atomic():
        anew = run_demo("--reset")
        after = rows()
        transaction.set_rollback(True)
    passwords = {person["username"]: person["password"] for person in demo["users"]}
    assert {p["username"] for p in anew["users"]} == set(passwords)
    assert all(p["password"] != passwords[p["username"]] for p in anew["users"])
    assert after == before
    assert kept.exists()
    belongings.keep_passwords(passwords)


@pytest.mark.django_db
def test_somebodys_own_database_is_refused_and_left_alone(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    make.tree()
    make.keeper()
    before = rows()
    for words in ([], ["--reset"]):
        with pytest.raises(CommandError, match="the demo did not put there"):
            run_demo(*words)
    assert rows() == before
    assert not (tmp_path / "demo_passwords.json").exists()


@pytest.mark.django_db
def test_emptying_refuses_what_the_demo_did_not_make():
    make.keeper()
    with pytest.raises(Exception, match="the demo did not put there"):
        belongings.empty()
    assert User.objects.count() == 1


def test_it_serves_at_the_port_it_prints(demo, monkeypatch):
    asked = {}

    def instead(name, *words, **options):
        if name == "serve":
            asked.update(options)
        else:
            call_command(name, *words, **options)

    monkeypatch.setattr("wintering.web.management.commands.demo.call_command", instead)
    out = StringIO()
    call_command("demo", "--port", "8124", stdout=out, stderr=StringIO())
    assert asked["port"] == 8124
    assert "http://127.0.0.1:8124/" in out.getvalue()
    assert "hana" in out.getvalue()
