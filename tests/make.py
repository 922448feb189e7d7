"""Rows for tests: each function fills in what a test does not care about.

Fields are given by name and win over the defaults. Days are constants, so that a test
means the same in every year: the story's day is 20 January 2025.
"""

import io
from datetime import UTC, date, datetime
from itertools import count
from typing import Any
from uuid import uuid4

import numpy as np
from PIL import Image

from wintering.care.models import FeedToken, Observation, Round, Watering
from wintering.clients.models import Agreement, Client
from wintering.climate.models import Logger, LogImport, MinMaxEntry, Sensor
from wintering.climate.services import Stored, store_readings
from wintering.forecast.models import Flag, Judging
from wintering.frames.models import Bench, Fitting, Frame, Microclimate, Module
from wintering.people.models import User
from wintering.stays.models import ConditionReport, HeldModule, Placement, Stay
from wintering.trees.models import Evidence, Pot, Taxon, TaxonFact, Tree
from wintering.trees.names import plain

AUTUMN = date(2024, 10, 12)
DAY = date(2025, 1, 20)
NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
PASSWORD = "larch-and-moss-42"
MODULE_CM = 45

_numbers = count(1)


def _saved(row: Any) -> Any:
    """Checked as a service would check it, then kept."""
    row.full_clean()
    row.save()
    return row


def user(role: str = "keeper", **fields: Any) -> User:
    """A person who can sign in with `PASSWORD`."""
    fields.setdefault("username", f"{role}-{next(_numbers)}")
    password = fields.pop("password", PASSWORD)
    return User.objects.create_user(password=password, role=role, **fields)


def keeper(**fields: Any) -> User:
    return user("keeper", **fields)


def helper(**fields: Any) -> User:
    return user("helper", **fields)


def client(**fields: Any) -> Client:
    """An owner of trees; `user=` lets them sign in."""
    n = next(_numbers)
    return _saved(Client(**{"name": f"Client {n}", "mark": f"C{n}", **fields}))


def agreement(**fields: Any) -> Agreement:
    fields["client"] = fields.get("client") or client()
    return _saved(Agreement(**{"winter": 2024, "trees_agreed": 9, **fields}))


def taxon(scientific_name: str = "", **fields: Any) -> Taxon:
    """A taxon without facts; `fact` adds them. The same name gives the same row."""
    name = scientific_name or f"Acer exemplum {next(_numbers)}"
    known = Taxon.objects.filter(scientific_name=name).first()
    if known:
        return known
    made = Taxon(scientific_name=name, **{"habit": "deciduous tree", **fields})
    names = (made.scientific_name, made.common_names, made.original_script)
    made.search_text = fields.get("search_text", plain(" ".join(names)))
    return _saved(made)


def fact(attribute: str, value: str, **fields: Any) -> TaxonFact:
    """One stated value; `low` and `high` follow from a plain number."""
    fields["taxon"] = fields.get("taxon") or taxon()
    fields.setdefault("kind", Evidence.PRACTICE)
    fields.setdefault("source", "a grower's handbook")
    return _saved(TaxonFact(attribute=attribute, value=value, **fields))


def tree(**fields: Any) -> Tree:
    """A tree in its pot; `pot={...}` changes the pot, `pot=None` leaves it out."""
    pot_fields = fields.pop("pot", {})
    newest = Tree.objects.order_by("-serial").first()
    serial = fields.pop("serial", newest.serial + 1 if newest else 1)
    fields["taxon"] = fields.get("taxon") or taxon()
    made = Tree(serial=serial, number=fields.pop("number", f"T-{serial:03d}"))
    sizes = {"height_cm": 45, "canopy_width_cm": 36, "canopy_depth_cm": 32}
    for name, content in {**sizes, "weight_kg": 6, **fields}.items():
        setattr(made, name, content)
    texts = (made.number, made.cultivar, made.given_name, made.original_script)
    made.search_text = plain(" ".join(texts))
    _saved(made)
    if pot_fields is not None:
        pot(tree=made, **pot_fields)
    return made


def pot(**fields: Any) -> Pot:
    fields["tree"] = fields.get("tree") or tree(pot=None)
    size = {"width_cm": 30, "depth_cm": 22, "height_cm": 7}
    return _saved(Pot(**{"since": AUTUMN, **size, **fields}))


def picture(*, width: int = 640, height: int = 480, kind: str = "JPEG") -> io.BytesIO:
    """The bytes of a small picture, each one different."""
    n = next(_numbers)
    colour = (40 + n * 7 % 200, 90 + n * 13 % 150, 60 + n * 29 % 180)
    file = io.BytesIO()
    Image.new("RGB", (width, height), colour).save(file, kind)
    file.seek(0)
    file.name = f"picture-{n}.{kind.lower()}"
    return file


def frame(**fields: Any) -> Frame:
    n = next(_numbers)
    place = {"name": f"Frame {n}", "slug": f"frame-{n}", "time_zone": "UTC"}
    size = {"width_cm": 540, "depth_cm": 240}
    return _saved(Frame(**{**place, **size, **fields}))


def microclimate(**fields: Any) -> Microclimate:
    n = next(_numbers)
    fields["frame"] = fields.get("frame") or frame()
    return _saved(Microclimate(**{"name": f"Part {n}", "slug": f"part-{n}", **fields}))


def fitting(**fields: Any) -> Fitting:
    fields["frame"] = fields.get("frame") or frame()
    spot = {"x_cm": 500, "y_cm": 90, "width_cm": 40, "depth_cm": 60}
    return _saved(Fitting(**{"kind": Fitting.Kind.DOOR, **spot, **fields}))


def bench(
    *, columns: int = 6, rows: int = 2, microclimate: Any = None, **fields: Any
) -> Bench:
    """A bench ruled in modules of 45 cm, labelled N1-01f, N1-01b, N1-02f ..."""
    theirs = microclimate.frame if microclimate else None
    fields["frame"] = fields.get("frame") or theirs or frame()
    heights = {"height_cm": 75, "headroom_cm": 120, "weight_limit_kg": 180}
    place = {"name": f"N{next(_numbers)}", "level": "bench", "x_cm": 0, "y_cm": 0}
    size = {"width_cm": columns * MODULE_CM, "depth_cm": rows * MODULE_CM}
    made = _saved(Bench(**{**place, **size, **heights, **fields}))
    part = microclimate or _climate_of(made.frame)
    for column in range(1, columns + 1):
        for row in range(1, rows + 1):
            module(bench=made, column=column, row=row, microclimate=part, rows=rows)
    return made


def module(
    *, bench: Bench, column: int, row: int, microclimate: Microclimate, rows: int = 1
) -> Module:
    letter = {1: [""], 2: ["f", "b"]}.get(rows, list("abcdefgh"))[row - 1]
    return _saved(
        Module(
            bench=bench,
            label=f"{bench.name}-{column:02d}{letter}",
            column=column,
            row=row,
            x_cm=(column - 1) * MODULE_CM,
            y_cm=(row - 1) * MODULE_CM,
            width_cm=MODULE_CM,
            depth_cm=MODULE_CM,
            microclimate=microclimate,
        )
    )


def _climate_of(of_frame: Frame) -> Microclimate:
    return of_frame.microclimates.first() or microclimate(frame=of_frame)


def sensor(**fields: Any) -> Sensor:
    """A temperature sensor in the root zone, in °C."""
    part = fields.get("microclimate")
    fields["frame"] = fields.get("frame") or (part.frame if part else frame())
    named = {"name": f"R{next(_numbers)}", "place": Sensor.Place.ROOT}
    return _saved(Sensor(**{**named, **fields}))


def hours(sensor: Sensor, since: datetime, temperatures: Any) -> None:
    """A reading on each hour from an instant on, in the sensor's own unit."""
    thousandths = np.round(np.asarray(temperatures, dtype=float) * 1000).astype(
        np.int32
    )
    seconds = int(since.timestamp()) + 3600 * np.arange(thousandths.size)
    store(sensor, seconds, thousandths)


def min_max_entry(sensor: Sensor, read_at: datetime, **fields: Any) -> MinMaxEntry:
    """What a person read off, in thousandths of the thermometer's own unit."""
    fields["by"] = fields.get("by") or keeper()
    told = {"unit": sensor.unit, "was_reset": True, "entry_id": uuid4(), **fields}
    entry = MinMaxEntry(sensor=sensor, read_at=read_at, recorded_at=read_at, **told)
    return _saved(entry)


def logger(**fields: Any) -> Logger:
    """A device that sends by HTTP; its token is not known to anybody."""
    number = next(_numbers)
    told = {"name": f"logger {number}", "token_hash": f"{number:064x}", **fields}
    told["frame"] = told.get("frame") or frame()
    return _saved(Logger(added_at=NOON, **told))


def log_import(**fields: Any) -> LogImport:
    """A file that came in, without readings."""
    told = {"frame": fields.pop("frame", None) or frame(), "at": NOON}
    number = next(_numbers)
    told |= {"file_name": f"log{number}.csv", "sha256": f"{number:064x}"}
    told |= {"kept": f"logs/{number:064x}.gz", "habits": {"sensors": {}}, **fields}
    came = LogImport(**told)
    came.full_clean(exclude=["by", "habits", "report"])
    came.save()
    return came


def store(
    sensor: Sensor,
    seconds: Any,
    thousandths: Any,
    *,
    origin: LogImport | None = None,
    rows: Any = None,
) -> Stored:
    """Readings from a file of their own, a row each."""
    seconds = np.asarray(seconds, np.int64)
    return store_readings(
        sensor=sensor,
        seconds=seconds,
        thousandths=np.asarray(thousandths, np.int32),
        origin=origin or log_import(frame=sensor.frame),
        rows=np.arange(1, len(seconds) + 1) if rows is None else np.asarray(rows),
    )


def stay(**fields: Any) -> Stay:
    """A tree in care since October; its client owns the tree."""
    owner = fields.pop("client", None)
    stayed = fields.pop("tree", None)
    owner = owner or (stayed.owner if stayed and stayed.owner else client())
    stayed = stayed or tree(owner=owner)
    dates = {"winter": 2024, "since": AUTUMN}
    return _saved(Stay(tree=stayed, client=owner, **{**dates, **fields}))


def condition_report(**fields: Any) -> ConditionReport:
    fields["tree"] = fields.get("tree") or tree()
    fields["by"] = fields.get("by") or keeper()
    what = {"occasion": ConditionReport.Occasion.CHECK_IN, "on": AUTUMN}
    return _saved(ConditionReport(**{**what, **fields}))


def placement(*, modules: list[Module] | None = None, **fields: Any) -> Placement:
    """A tree on its place from 17 November; no `modules`: on a bench of its own."""
    fields["tree"] = fields.get("tree") or tree()
    held = modules or [bench(columns=1, rows=1).modules.get()]
    made = _saved(Placement(**{"since": date(2024, 11, 17), **fields}))
    for one in held:
        _saved(HeldModule(placement=made, module=one, until=made.until))
    return made


def flag(**fields: Any) -> Flag:
    """A standing flag about a tree, with one piece of evidence."""
    if not fields.get("tree") and not fields.get("sensor"):
        fields["tree"] = tree()
    fields["frame"] = fields.get("frame") or frame()
    text = {"text": "Root zone of N1", "value": -3.4, "unit": "°C", "source": "R1"}
    what = {
        "kind": Flag.Kind.ROOTS_TOO_COLD,
        "level": Flag.Level.TONIGHT,
        "since": NOON,
        "judged_at": NOON,
        "evidence": [text],
        "advice": "Move it to the floor bay before dusk.",
    }
    return _saved(Flag(**{**what, **fields}))


def judging(**fields: Any) -> Judging:
    """A frame whose readings were judged at noon."""
    fields["frame"] = fields.get("frame") or frame()
    return _saved(Judging(**{"at": NOON, **fields}))


def round(**fields: Any) -> Round:
    fields["frame"] = fields.get("frame") or frame()
    fields["by"] = fields.get("by") or keeper()
    return _saved(Round(**{"at": NOON, "recorded_at": NOON, **fields}))


def observation(**fields: Any) -> Observation:
    fields["tree"] = fields.get("tree") or tree()
    fields["by"] = fields.get("by") or keeper()
    seen = {"at": NOON, "moisture": Observation.Moisture.MOIST}
    return _saved(Observation(**{**seen, **fields}))


def watering(**fields: Any) -> Watering:
    fields["tree"] = fields.get("tree") or tree()
    fields["by"] = fields.get("by") or keeper()
    return _saved(Watering(**{"at": NOON, **fields}))


def feed_token(**fields: Any) -> FeedToken:
    fields["user"] = fields.get("user") or keeper()
    return _saved(FeedToken(**{"created_at": NOON, **fields}))
