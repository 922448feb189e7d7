"""Loading the invented winter through the same services that people use."""

import io
from datetime import date
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.core.management import call_command
from django.db import transaction

from wintering.care.models import Observation
from wintering.care.services import Seen, record_round
from wintering.clients.models import Client
from wintering.clients.services import add_client, agree
from wintering.forecast.services import judge_frames
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.science.winter import Winter
from wintering.stays.services import place_tree, receive_tree, report_condition
from wintering.trees.models import Taxon, Tree
from wintering.trees.services import add_tree, load_catalogue, state_fact
from wintering.web.demo.belongings import (
    is_loaded,
    keep_passwords,
    mark,
    new_password,
)
from wintering.web.demo.building import build_frame, module_at
from wintering.web.demo.log_files import LogFile, log_files
from wintering.web.demo.sensors import tell_of_sensors
from wintering.web.demo.story import Story, fixtures

# Moments of the freeze at which the readings were judged; then now.
JUDGED_AT = ("2025-01-20T19:40", "2025-01-21T03:00", "2025-01-21T09:20")


@transaction.atomic
def load_demo(story: Story) -> None:
    """Put the whole winter in, up to now: all of it, once, or nothing."""
    if is_loaded():  # another run was quicker
        return
    people, passwords = _people(story)
    keeper = people["hana"]
    load_catalogue(fixtures())
    _own_facts(story, keeper)
    clients = _clients(story, people)
    for described in story.told["frames"]:
        build_frame(described, story=story, by=keeper)
    trees = _trees(story, clients, keeper)
    _inspections(story, trees, people)
    _places(story, trees, keeper)
    _rounds(story, trees, people)
    _logs(story)
    tell_of_sensors(story, people)
    for moment in JUDGED_AT:
        if story.has_come(moment):
            judge_frames(at=story.moment(moment))
    judge_frames(at=story.now)
    mark(keeper)
    keep_passwords(passwords)


def _people(story: Story) -> tuple[dict[str, User], dict[str, str]]:
    passwords = {person["username"]: new_password() for person in story.told["people"]}
    people = {
        person["username"]: User.objects.create_user(
            password=passwords[person["username"]],
            time_zone=story.told["time_zone"],
            **person,
        )
        for person in story.told["people"]
    }
    return people, passwords


def _own_facts(story: Story, keeper: User) -> None:
    for fact in story.told["own_facts"]:
        state_fact(
            taxon=Taxon.objects.get(scientific_name=fact["taxon"]),
            attribute=fact["attribute"],
            value=f"{fact['low']:g}-{fact['high']:g}",
            low=fact["low"],
            high=fact["high"],
            unit=fact["unit"],
            usable_as_limit=True,
            reason=fact["reason"],
            on=story.day(story.told["first_day"]),
            by=keeper,
        )


def _clients(story: Story, people: dict[str, User]) -> dict[str, Client]:
    keeper, made = people["hana"], {}
    for told in story.told["clients"]:
        client = add_client(
            name=told["name"],
            mark=told["mark"],
            user=people[told["user"]],
            deputy_name=told["deputy_name"],
            notes=story.words(told["notes"]),
            by=keeper,
        )
        _agree(story, client, told["agreement"], keeper)
        made[client.mark] = client
    return made


def _first_check_in(story: Story, owner: str) -> date:
    days = [t["check_in"] for t in story.told["trees"] if t["owner"] == owner]
    day = story.day(min(days))
    assert day is not None, "a client's trees have a check-in day"
    return day


def _agree(story: Story, client: Client, told: dict[str, Any], keeper: User) -> None:
    spend = told["may_spend"]
    late = f"Late collection {told['currency']}{told['late_fee_per_week']} a week."
    agree(
        client=client,
        winter=Winter.of(_first_check_in(story, client.mark)).start_year,
        trees_agreed=told["trees_agreed"],
        currency=told["currency"],
        fee_per_module=Decimal(told["fee_per_module"]),
        deposit=Decimal(told["deposit"]),
        may_spend=None if spend is None else Decimal(spend),
        wake_at_night=told["wake_at_night"],
        collect_from=story.day(told["collect_from"]),
        collect_until=story.day(told["collect_until"]),
        signed_on=story.day(told["signed_on"]),
        terms=f"{story.words(told['terms'])} {late}",
        by=keeper,
    )


def _trees(story: Story, clients: dict[str, Client], keeper: User) -> dict[str, Tree]:
    """Enter the trees in the order of their numbers, and check clients' trees in."""
    found = {r["tree"]: r for r in story.told["condition_reports"][::-1]}
    for told in story.told["trees"]:
        fields = _tree_fields(story, told)
        if not told["owner"]:
            pot = {**told["pot"], "since": story.day(story.told["first_day"])}
            add_tree(by=keeper, pot=pot, **fields)
            continue
        receive_tree(
            client=clients[told["owner"]],
            on=story.day(told["check_in"]),
            by=keeper,
            tree=fields,
            pot=told["pot"],
            stay={
                "planned_until": story.day(told["collect_on"]),
                "declared_tree_value": Decimal(told["declared"]),
                "currency": "$",
            },
            condition=_condition(story, found[told["number"]]),
        )
    trees = {tree.number: tree for tree in Tree.objects.select_related("taxon")}
    assert list(trees) == [told["number"] for told in story.told["trees"]]
    return trees


def _tree_fields(story: Story, told: dict[str, Any]) -> dict[str, Any]:
    labelled = f"Labelled {told['labelled']}." if told["labelled"] else ""
    style = f"{told['style'].capitalize()}." if told["style"] else ""
    return {
        "taxon": Taxon.objects.get(scientific_name=told["taxon"]),
        "cultivar": told["cultivar"],
        "original_script": told["script"],
        "height_cm": told["height_cm"],
        "canopy_width_cm": told["canopy_cm"][0],
        "canopy_depth_cm": told["canopy_cm"][1],
        "weight_kg": told["weight_kg"],
        "root_work_on": story.day(f"{told['root_year']}-04-15"),
        "leaf_fall_on": story.day(told["leaf_fall_on"]),
        "notes": " ".join(filter(None, [style, labelled])),
    }


def _condition(story: Story, told: dict[str, Any]) -> dict[str, Any]:
    return {
        "grade": told["grade"],
        "vigour": told["vigour"],
        "pests": told["pests"],
        "findings": story.words(told["findings"]),
    }


def _inspections(story: Story, trees: dict[str, Tree], people: dict[str, User]) -> None:
    for told in story.told["condition_reports"]:
        if told["occasion"] == "check_in" or not story.has_come(told["on"]):
            continue
        tree = trees[told["tree"]]
        report_condition(
            tree=tree,
            stay=tree.stays.get(until=None),
            occasion=told["occasion"],
            on=story.day(told["on"]),
            by=people[told["by"]],
            **_condition(story, told),
        )


def _places(story: Story, trees: dict[str, Tree], keeper: User) -> None:
    moves = [
        (place["since"], number, place)
        for number, told in ((t["number"], t) for t in story.told["trees"])
        for place in told["places"]
        if story.has_come(place["since"])
    ]
    for since, number, place in sorted(moves, key=lambda move: move[:2]):
        place_tree(
            tree=trees[number],
            modules=[module_at(label) for label in place["at"]],
            on=story.day(since),
            by=keeper,
            reason=story.words(place["reason"]),
        )


def _rounds(story: Story, trees: dict[str, Tree], people: dict[str, User]) -> None:
    frames = {frame.name: frame for frame in Frame.objects.all()}
    for told in story.told["rounds"]:
        if story.has_come(told["at"]):
            record_round(
                frame=frames[told["frame"]],
                at=story.moment(told["at"]),
                by=people[told["by"]],
                seen=_seen(told, trees),
                is_rest_checked=True,
                note=story.words(told["note"]),
            )


def _seen(told: dict[str, Any], trees: dict[str, Tree]) -> list[Seen]:
    """The exceptions of a round: what was dry and watered, frozen, out of reach."""
    moisture = dict.fromkeys(told["bud_stages"], Observation.Moisture.NO_FINDING)
    moisture |= dict.fromkeys(told["watered"], Observation.Moisture.DRY)
    moisture |= dict.fromkeys(told["frozen"], Observation.Moisture.FROZEN)
    skipped = told["not_checked"]
    moisture |= dict.fromkeys(skipped, Observation.Moisture.NOT_CHECKED)
    return [
        Seen(
            tree=trees[number],
            moisture=how,
            was_watered=number in told["watered"],
            bud_stage=told["bud_stages"].get(number),
        )
        for number, how in moisture.items()
    ]


def _logs(story: Story) -> None:
    """Bring the loggers' files in by the ordinary way for log files."""
    sensors = {sensor["name"]: sensor for sensor in story.told["sensors"]}
    with TemporaryDirectory() as folder:
        for log in log_files(
            story.told["files"],
            shift=story.shift,
            now=story.now,
            offsets_k=story.told["ice_checks"]["offsets_k"],
        ):
            _import(log, sensors, Path(folder))


def _import(log: LogFile, sensors: dict[str, dict[str, Any]], folder: Path) -> None:
    path = folder / log.name
    path.write_text(log.text, encoding="utf-8")
    words = [str(path), "--frame", "long-frame"]
    for heading, name in log.columns:
        where = [sensors[name]["place"], sensors[name]["microclimate"]]
        words += ["--map", f"{heading}={name}:{':'.join(filter(None, where))}"]
    call_command("import_log", *words, stdout=io.StringIO())
