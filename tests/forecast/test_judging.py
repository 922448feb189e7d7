import json
from datetime import date, timedelta

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction

from tests import make
from tests.forecast.conftest import AT, HOURS, START, cold_taxon
from wintering.climate.models import Sensor
from wintering.forecast.models import Flag
from wintering.forecast.queries import standing_flags, trees_waking
from wintering.forecast.services import judge_frame
from wintering.people.queries import events_about
from wintering.stays.services import check_out_tree, lift_tree
from wintering.trees.services import see_buds

pytestmark = pytest.mark.django_db


def cold_night(lowest, hours_ago=5):
    c = np.full(HOURS, 2.0)
    c[-hours_ago] = lowest
    return c


def kinds(flags):
    return sorted(flag.kind for flag in flags)


class TestColdRoots:
    def test_past_the_act_value_the_flag_is_for_tonight(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        tree = stood()
        [flag] = judge_frame(frame=bench.frame, at=AT)
        assert (flag.kind, flag.level, flag.tree) == ("roots_too_cold", "tonight", tree)
        assert flag.since == AT - timedelta(hours=5)

    def test_past_the_watch_value_it_is_for_this_week(self, logged, stood):
        bench = logged(root=cold_night(-5.5))
        stood()
        assert judge_frame(frame=bench.frame, at=AT)[0].level == "week"

    def test_the_evidence_names_value_unit_and_source(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        stood()
        [flag] = judge_frame(frame=bench.frame, at=AT)
        coldest = flag.evidence[0]
        assert (coldest["value"], coldest["unit"]) == (-7.6, "°C")
        assert coldest["source"] == "R1, root zone"
        assert all(part["source"] for part in flag.evidence)
        assert {part["value"] for part in flag.evidence} >= {-5.4, -7.4}

    def test_judging_again_raises_nothing_twice(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        tree = stood()
        first = judge_frame(frame=bench.frame, at=AT)
        again = judge_frame(frame=bench.frame, at=AT)
        assert [flag.pk for flag in first] == [flag.pk for flag in again]
        assert len(events_about(tree)) == 1

    def test_it_is_cleared_when_the_last_day_was_a_degree_above_watch(
        self, logged, stood
    ):
        bench = logged(root=cold_night(-7.6, hours_ago=40))
        tree = stood()
        judge_frame(frame=bench.frame, at=AT - timedelta(hours=30))
        assert judge_frame(frame=bench.frame, at=AT) == []
        assert Flag.objects.get(tree=tree).cleared_at == AT

    def test_it_stands_on_within_a_degree_of_watch(self, logged, stood):
        c = np.full(HOURS, -4.9)
        c[-40] = -7.6
        bench = logged(root=c)
        stood()
        judge_frame(frame=bench.frame, at=AT - timedelta(hours=30))
        assert kinds(judge_frame(frame=bench.frame, at=AT)) == ["roots_too_cold"]

    def test_no_readings_are_never_good_news(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        stood()
        judge_frame(frame=bench.frame, at=AT)
        later = judge_frame(frame=bench.frame, at=AT + timedelta(days=3))
        assert "roots_too_cold" in kinds(later)

    def test_without_a_probe_no_flag_is_raised(self, long_bench, stood):
        stood()
        long_bench.root.delete()
        assert "roots_too_cold" not in kinds(judge_frame(frame=long_bench.frame, at=AT))

    def test_a_flag_about_green_tips_is_cleared_by_the_air(self, logged, stood):
        air = np.full(HOURS, 3.0)
        air[-40] = -2.0
        bench = logged(air=air)
        tree = stood()
        see_buds(tree=tree, code=9, on=date(2025, 1, 10), by=make.keeper())
        flags = judge_frame(frame=bench.frame, at=AT - timedelta(hours=30))
        assert kinds(flags) == ["green_too_cold", "waking_early"]
        assert "air" in flags[0].evidence[0]["text"]
        assert not any("kills" in part["source"] for part in flags[0].evidence)

    def test_frost_before_green_was_seen_hurts_no_green(self, logged, stood):
        air = np.full(HOURS, 3.0)
        air[-20] = -4.0
        bench = logged(air=air)
        see_buds(tree=stood(), code=9, on=date(2025, 1, 20), by=make.keeper())
        assert kinds(judge_frame(frame=bench.frame, at=AT)) == ["waking_early"]
        bench.root.delete()
        assert kinds(judge_frame(frame=bench.frame, at=AT)) == ["waking_early"]

    def test_an_instant_before_a_flag_does_not_clear_it(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        stood()
        judge_frame(frame=bench.frame, at=AT)
        before = judge_frame(frame=bench.frame, at=AT - timedelta(days=3))
        assert kinds(before) == ["roots_too_cold"]


class TestChillAndWaking:
    def test_a_mild_spell_alone_is_forgotten_after_two_weeks(self, logged, stood):
        air = np.full(HOURS, 3.0)
        air[-24 * 12 : -24 * 9] = 7.5
        bench = logged(air=air)
        stood()
        assert kinds(judge_frame(frame=bench.frame, at=AT)) == ["waking_early"]
        air[:] = 3.0
        later = AT + timedelta(days=8)
        for sensor in (bench.root, bench.air):
            make.hours(sensor, AT, [3.0] * 24 * 8)
        assert judge_frame(frame=bench.frame, at=later) == []

    def test_waking_is_not_judged_for_what_must_not_be_chilled(self, logged, stood):
        bench = logged(air=15.0)
        taxon = make.taxon()
        make.fact("dormancy_class", "no dormancy", taxon=taxon)
        stood(taxon=taxon)
        # Its roots are: at 2 °C such a tree is hurt.
        assert kinds(judge_frame(frame=bench.frame, at=AT)) == ["roots_too_cold"]

    def test_a_frame_that_stays_warm_puts_chill_at_risk(self, logged, stood):
        bench = logged(air=7.0)
        tree = stood()
        found = {flag.kind: flag for flag in judge_frame(frame=bench.frame, at=AT)}
        assert found["chill_at_risk"].tree == tree
        assert found["chill_at_risk"].evidence[0]["value"] == "0"

    def test_a_warm_october_does_not_put_it_at_risk_yet(self, logged, stood):
        bench = logged(air=7.0)
        stood()
        october = AT.replace(year=2024, month=10, day=25)
        assert judge_frame(frame=bench.frame, at=october) == []

    def test_a_cold_frame_does_not(self, logged, stood):
        bench = logged(air=3.0)
        stood()
        assert judge_frame(frame=bench.frame, at=AT) == []

    def test_a_tree_that_came_late_is_not_called_at_risk_for_what_nobody_knows(
        self, logged, stood
    ):
        bench = logged(air=np.r_[np.full(HOURS - 24 * 15, 3.0), np.full(24 * 15, 7.0)])
        stood(since=date(2024, 12, 20))
        assert "chill_at_risk" not in kinds(judge_frame(frame=bench.frame, at=AT))

    def test_warm_weeks_after_the_chill_raise_waking_early(self, logged, stood):
        air = np.full(HOURS, 3.0)
        air[-24 * 14 :] = 20.0
        bench = logged(air=air)
        tree = stood()
        [flag] = judge_frame(frame=bench.frame, at=AT)
        assert (flag.kind, flag.level) == ("waking_early", "tonight")
        assert list(trees_waking(AT)) == [tree]
        assert not trees_waking(START)

    @pytest.mark.parametrize(
        ("exit_on", "flagged"),
        [(None, True), (date(2025, 4, 20), True), (date(2025, 3, 10), False)],
    )
    def test_waking_is_early_until_a_stated_exit(self, logged, stood, exit_on, flagged):
        hours = HOURS + 24 * 60
        air = np.full(hours, 3.0)
        air[-24 * 20 :] = 15.0
        bench = logged(air=air, hours=hours)
        bench.frame.exit_on = exit_on
        bench.frame.save()
        stood()
        spring = AT + timedelta(days=60)
        found = kinds(judge_frame(frame=bench.frame, at=spring))
        assert ("waking_early" in found) is flagged


class TestSensors:
    def test_a_sensor_that_went_quiet_is_flagged(self, logged):
        bench = logged()
        flags = judge_frame(frame=bench.frame, at=AT + timedelta(hours=8))
        assert kinds(flags) == ["sensor_quiet", "sensor_quiet"]
        assert {flag.level for flag in flags} == {"week"}

    def test_after_a_day_it_is_for_tonight(self, logged):
        bench = logged()
        flags = judge_frame(frame=bench.frame, at=AT + timedelta(hours=25))
        assert {flag.level for flag in flags} == {"tonight"}

    def test_one_that_was_put_away_is_not_flagged_for_ever(self, logged):
        bench = logged()
        assert judge_frame(frame=bench.frame, at=AT + timedelta(days=31)) == []

    def test_a_sensor_whose_place_is_not_known_feeds_no_flag(self, logged):
        bench = logged()
        Sensor.objects.update(place=Sensor.Place.UNKNOWN, microclimate=None)
        assert judge_frame(frame=bench.frame, at=AT + timedelta(hours=25)) == []

    def test_a_sensor_that_never_read_is_not_quiet(self, long_bench):
        assert judge_frame(frame=long_bench.frame, at=AT) == []


class TestWhoseFlags:
    def test_a_tree_that_left_takes_its_flag_along(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        tree = stood()
        judge_frame(frame=bench.frame, at=AT)
        lift_tree(tree=tree, on=AT.date(), by=make.keeper())
        assert judge_frame(frame=bench.frame, at=AT) == []

    def test_a_tree_that_was_handed_back_is_not_judged(self, logged, stood):
        bench = logged(root=cold_night(-7.6))
        owner = make.client()
        stay = make.stay(tree=stood(owner=owner), client=owner)
        judge_frame(frame=bench.frame, at=AT)
        check_out_tree(
            stay=stay, on=AT.date(), by=make.keeper(), condition={"grade": "sound"}
        )
        assert judge_frame(frame=bench.frame, at=AT) == []

    def test_a_client_sees_the_flags_of_their_own_trees_only(self):
        person = make.user(role="client")
        own = make.flag(tree=make.tree(owner=make.client(user=person)))
        make.flag()
        assert list(standing_flags(person)) == [own]
        assert standing_flags(make.helper()).count() == 2

    def test_the_most_urgent_comes_first(self):
        for level in ("watch", "tonight", "week"):
            make.flag(level=level)
        levels = [flag.level for flag in standing_flags(make.keeper())]
        assert levels == ["tonight", "week", "watch"]

    def test_the_database_refuses_a_second_standing_flag_of_a_kind(self):
        flag = make.flag()
        flag.pk = None
        with pytest.raises(IntegrityError), transaction.atomic():
            flag.save(force_insert=True)


class TestCommand:
    def test_json_is_one_document_of_all_standing_flags(self, logged, stood, capsys):
        bench = logged(root=cold_night(-7.6))
        stood()
        call_command("forecast", "--at", AT.isoformat(), "--format", "json")
        [flag] = json.loads(capsys.readouterr().out)["flags"]
        assert set(flag) == {
            "tree",
            "frame",
            "kind",
            "level",
            "since",
            "evidence",
            "advice",
        }
        assert flag["frame"] == bench.frame.slug
        assert flag["since"].endswith("+00:00")
        assert set(flag["evidence"][0]) == {"text", "value", "unit", "source"}

    def test_text_says_that_nothing_is_predicted(self, capsys):
        call_command("forecast")
        assert "nothing is predicted" in capsys.readouterr().out

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (["--frame", "nowhere"], "No frame is called 'nowhere'"),
            (["--at", "yesterday"], "is not a time"),
            (["--at", "2025-13-40T00:00"], "is not a time"),
        ],
    )
    def test_a_wrong_word_is_refused_in_one_line(self, words, said):
        with pytest.raises(CommandError, match=said):
            call_command("forecast", *words)


class TestTooColdForChill:
    def test_frost_is_not_advised_where_frost_is_what_is_wrong(self, logged, stood):
        bench = logged(air=-8.0)
        taxon = cold_taxon()
        make.fact(
            "chilling_requirement",
            "30-70",
            taxon=taxon,
            low=30,
            high=70,
            unit="portions",
            usable_as_limit=True,
        )
        stood(taxon=taxon)
        found = {f.kind: f for f in judge_frame(frame=bench.frame, at=AT)}
        advice = found["chill_at_risk"].advice
        assert "frost brings no chill portions" in advice
        assert "colder" not in advice
