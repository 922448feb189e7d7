"""Trees as lines and as rows of the inventory, with what each figure rests on."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import django_tables2 as tables
from django.urls import reverse

from wintering.forecast.models import Flag
from wintering.forecast.queries import TreeOutlook, standing_flags, tree_outlooks
from wintering.people.models import User
from wintering.science.hardiness import RootLimits
from wintering.stays.queries import Place
from wintering.trees.models import Photo, TaxonFact, Tree
from wintering.trees.queries import Facts, photos_for


@dataclass(frozen=True, slots=True)
class TreeLine:
    """What `web/_tree_line.html` shows of one tree."""

    number: str
    url: str
    name: str
    script: str
    owner_mark: str
    place: str = ""
    stage: str = ""
    photo_url: str = ""
    flags: tuple[Flag, ...] = ()


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One row of the inventory; the plain fields are what it is sorted by."""

    tree: Tree
    line: TreeLine
    outlook: TreeOutlook
    serial: int = field(init=False)
    name: str = field(init=False)
    owner: str = field(init=False)
    place_label: str = field(init=False)
    top_c: float = field(init=False)
    kill_c: float = field(init=False)
    rest: str = field(init=False)
    urgency: int = field(init=False)

    def __post_init__(self) -> None:
        for name, content in self._sorted_by().items():
            object.__setattr__(self, name, content)

    def _sorted_by(self) -> dict[str, object]:
        top, rest = self.top_fact, self.rest_fact
        levels = [list(Flag.Level).index(Flag.Level(f.level)) for f in self.line.flags]
        return {
            "serial": self.tree.serial,
            "name": f"{self.tree.name} {self.tree.number}".casefold(),
            "owner": f"{self.tree.owner_mark} {self.tree.serial:06d}",
            # What has no place, or no figure, comes after all that has one.
            "place_label": self.line.place or "\uffff",
            "top_c": float("inf") if top is None or top.low is None else top.low,
            "kill_c": self.roots.kill_c,
            "rest": rest.value if rest else "\uffff",
            "urgency": min(levels, default=len(Flag.Level)),
        }

    @property
    def place(self) -> Place | None:
        return self.outlook.place

    @property
    def facts(self) -> Facts:
        return self.outlook.facts

    @property
    def roots(self) -> RootLimits:
        return self.outlook.root_limits

    @property
    def top_fact(self) -> TaxonFact | None:
        return self.facts.best("zone_limit_temp")

    @property
    def top_facts(self) -> list[TaxonFact]:
        return self.facts.all("zone_limit_temp") + self.facts.all("usda_zone_min")

    @property
    def root_facts(self) -> list[TaxonFact]:
        names = ("root_class", "root_kill_temp", "root_hardiness_class")
        return [fact for name in names for fact in self.facts.all(name)]

    @property
    def rest_fact(self) -> TaxonFact | None:
        return self.facts.best("dormancy_class")

    @property
    def rest_facts(self) -> list[TaxonFact]:
        names = ("dormancy_class", "chilling_requirement", "wake_rank")
        return [fact for name in names for fact in self.facts.all(name)]


def tree_rows(trees: Iterable[Tree], user: User, at: datetime) -> list[TreeRow]:
    """The rows of some trees that the user may see, in few statements."""
    known = list(trees)
    outlooks = tree_outlooks(known, at)
    places = {pk: one.place for pk, one in outlooks.items() if one.place}
    stages = {pk: one.stage.name for pk, one in outlooks.items() if one.stage}
    return [
        TreeRow(tree, line, outlooks[tree.pk])
        for tree, line in zip(known, _lines(known, user, places, stages), strict=True)
    ]


def tree_lines(trees: Iterable[Tree], user: User, at: datetime) -> list[TreeLine]:
    """Lines of some trees that the user may see, in few statements."""
    return [row.line for row in tree_rows(trees, user, at)]


def _lines(
    trees: Sequence[Tree],
    user: User,
    places: Mapping[int, Place],
    stages: Mapping[int, str],
) -> list[TreeLine]:
    photos, flags = _newest_photos(trees, user), _flags(trees, user)
    return [
        TreeLine(
            number=tree.number,
            url=tree.get_absolute_url(),
            name=tree.name,
            script=tree.original_script or tree.taxon.original_script,
            owner_mark=tree.owner_mark,
            place=places[tree.pk].label if tree.pk in places else "",
            stage=stages.get(tree.pk, ""),
            photo_url=photos.get(tree.pk, ""),
            flags=tuple(flags[tree.pk]),
        )
        for tree in trees
    ]


def _newest_photos(trees: Sequence[Tree], user: User) -> dict[int, str]:
    """The address of each tree's newest front view, else of its newest photo."""
    photos = photos_for(user).filter(tree__in=trees).order_by("taken_at", "pk")
    found: dict[int, tuple[bool, int]] = {}
    for tree_id, view, pk in photos.values_list("tree_id", "view", "pk"):
        is_front = view == Photo.View.FRONT
        if is_front or not found.get(tree_id, (False, 0))[0]:
            found[tree_id] = (is_front, pk)
    return {
        tree_id: reverse("web:photo", args=[pk, "small"])
        for tree_id, (_, pk) in found.items()
    }


def _flags(trees: Sequence[Tree], user: User) -> dict[int, list[Flag]]:
    found: dict[int, list[Flag]] = defaultdict(list)
    for flag in standing_flags(user).filter(tree__in=trees):
        found[flag.tree_id].append(flag)
    return found


DESK = {"td": {"class": "desk-only"}, "th": {"class": "desk-only"}}
PHONE = {"td": {"class": "phone-only bare"}, "th": {"class": "phone-only"}}


class TreeTable(tables.Table):
    """The inventory. On a phone a row is a tree line with its needs beneath."""

    line = tables.TemplateColumn(
        template_name="web/_tree_row.html",
        verbose_name="",
        orderable=False,
        attrs=PHONE,
    )
    number = tables.TemplateColumn(
        '<a class="tree-line-number" href="{{ record.line.url }}">{{ value }}</a>',
        accessor="line__number",
        order_by="serial",
        attrs=DESK,
    )
    tree = tables.TemplateColumn(
        template_name="web/_tree_name.html",
        accessor="name",
        order_by="name",
        attrs=DESK,
    )
    owner = tables.TemplateColumn(
        '<span class="mark">{{ record.line.owner_mark }}</span>',
        accessor="owner",
        attrs=DESK,
    )
    place = tables.TemplateColumn(
        template_name="web/_tree_place.html",
        accessor="place_label",
        order_by="place_label",
        attrs=DESK,
    )
    top = tables.TemplateColumn(
        template_name="web/_tree_top.html",
        accessor="top_c",
        order_by="top_c",
        verbose_name="Top survives to about",
        attrs=DESK,
    )
    roots = tables.TemplateColumn(
        template_name="web/_tree_roots.html",
        accessor="kill_c",
        order_by="kill_c",
        verbose_name="Roots killed at",
        attrs=DESK,
    )
    rest = tables.TemplateColumn(
        template_name="web/_tree_rest.html", verbose_name="Winter rest", attrs=DESK
    )
    flags = tables.TemplateColumn(
        "{% for flag in record.line.flags %}"
        '{% include "web/_flag_word.html" %} {% endfor %}',
        accessor="urgency",
        order_by="urgency",
        attrs=DESK,
    )

    class Meta:
        order_by = ("number",)
        empty_text = "No tree answers to that. Take a word or a choice away."
