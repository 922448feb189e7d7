"""All about one tree, gathered for its page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from wintering.care.queries import Care, care_of
from wintering.climate.sources import Source
from wintering.forecast.models import Flag
from wintering.forecast.queries import (
    ChillCounts,
    TreeOutlook,
    chill_counts,
    standing_flags,
    tree_outlook,
)
from wintering.people.models import User
from wintering.people.queries import events_about
from wintering.science.dormancy import ChillOutlook, WakeOutlook
from wintering.science.series import HOUR_S
from wintering.stays.models import Stay
from wintering.stays.queries import Place, places_of, stays_for
from wintering.trees.models import Photo, Pot, TaxonFact, Tree
from wintering.trees.queries import photos_for
from wintering.web.charts import Chart
from wintering.web.charts.trees import chill_chart, root_chart
from wintering.web.history import HistoryLine, history

EVENTS_SHOWN = 60
NEEDS = ("dormancy_class", "chilling_requirement", "winter_light", "wake_rank")
TOP = ("zone_limit_temp", "usda_zone_min", "usda_zone_max")
ROOTS = ("root_class", "root_kill_temp", "root_hardiness_class", "root_survival_range")


@dataclass(frozen=True, slots=True)
class Statement:
    """One line of a 'why', as `web/_evidence.html` shows it."""

    text: str
    value: float | str | None
    unit: str
    source: str


@dataclass(frozen=True, eq=False)
class TreePage:
    tree: Tree
    outlook: TreeOutlook
    flags: Sequence[Flag]
    care: Care
    places: Sequence[Place]
    stay: Stay | None
    pot: Pot | None
    photos: Sequence[Photo]
    history: Sequence[HistoryLine]
    counts: ChillCounts | None
    chill_chart: Chart | None
    root_chart: Chart | None

    @property
    def place(self) -> Place | None:
        return self.outlook.place

    @property
    def portrait(self) -> Photo | None:
        """The newest front view, else the newest photo."""
        fronts = (photo for photo in self.photos if photo.view == Photo.View.FRONT)
        return next(fronts, next(iter(self.photos), None))

    @property
    def root_at(self) -> datetime | None:
        roots = self.outlook.roots
        return _instant(roots.latest_hour) if roots else None

    @property
    def coldest_at(self) -> datetime | None:
        roots = self.outlook.roots_winter
        return _instant(roots.lowest_hour) if roots else None

    @property
    def coldest_since(self) -> date:
        """The chill's start, or the day it first stood somewhere, if that is later."""
        first = min((place.since for place in self.places), default=date.min)
        return max(self.outlook.chill_start, first)

    @property
    def is_waking(self) -> bool:
        """The page says so where a flag does."""
        return any(flag.kind == Flag.Kind.WAKING_EARLY for flag in self.flags)

    @property
    def no_root_reading(self) -> str:
        """Why there is no root-zone temperature, as a sentence."""
        if self.place is None:
            return "Not known yet: it stands on no place of a frame."
        if not self.outlook.exposure.root_sources:
            return (
                f"Not known yet: no root-zone sensor speaks for {self.place.label}. "
                "Give its part of the frame a sensor, or let it follow another part."
            )
        return "Not known yet: the sensor has not read in the last 24 hours."

    @property
    def no_chill(self) -> str:
        """Why there is no sum of chill, as a sentence."""
        if self.outlook.requirement is None:
            return "Not known yet: nothing is stated that this taxon needs cold."
        return (
            "Not known yet: no air reading speaks for a place it has stood in "
            f"since {self.outlook.chill_start:%-d %B}."
        )

    @property
    def top_facts(self) -> list[TaxonFact]:
        return self._stated(TOP)

    @property
    def top_fact(self) -> TaxonFact | None:
        return self.outlook.facts.best("zone_limit_temp")

    @property
    def root_facts(self) -> list[TaxonFact]:
        return self._stated(ROOTS)

    @property
    def need_facts(self) -> list[TaxonFact]:
        return self._stated(NEEDS)

    @property
    def rest_fact(self) -> TaxonFact | None:
        return self.outlook.facts.best("dormancy_class")

    def _stated(self, attributes: Sequence[str]) -> list[TaxonFact]:
        return [fact for name in attributes for fact in self.outlook.facts.all(name)]

    @property
    def root_evidence(self) -> list[Statement]:
        limits, winter = self.outlook.root_limits, self.outlook.roots_winter
        kind = f"{limits.evidence}: {limits.source}"
        found = [
            Statement("Killed at", limits.kill_c, "°C", kind),
            Statement("Act at", limits.act_c, "°C", "common practice: 2 °C above"),
            Statement(
                "Watch from", limits.watch_c, "°C", "common practice: 4 °C above"
            ),
        ]
        if winter:
            read = _sources(self.outlook.exposure.root_sources)
            hours = (winter.hours_at_watch, winter.hours_at_act, winter.missing_hours)
            found.append(
                Statement(
                    "Hours at or below watch, at or below act, not known",
                    ", ".join(map(str, hours)),
                    "h",
                    read,
                )
            )
        return found

    @property
    def chill_evidence(self) -> list[Statement]:
        chill, need = self.outlook.chill, self.outlook.requirement
        if chill is None or need is None:
            return []
        read = _sources(self.outlook.exposure.air_sources)
        return [*_chill_lines(chill, read), _need_line(chill)]

    @property
    def wake_evidence(self) -> list[Statement]:
        wake = self.outlook.wake
        read = _sources(self.outlook.exposure.air_sources)
        return _wake_lines(wake, read) if wake else []


def tree_page(tree: Tree, user: User, at: datetime) -> TreePage:
    outlook = tree_outlook(tree, at)
    stays = stays_for(user).filter(tree=tree)
    return TreePage(
        tree=tree,
        outlook=outlook,
        flags=list(standing_flags(user).filter(tree=tree)),
        care=care_of([tree])[tree.pk],
        places=list(reversed(places_of([tree]).get(tree.pk, []))),
        stay=stays.on(outlook.today).first(),
        pot=tree.pots.filter(until=None).first(),
        photos=list(photos_for(user).filter(tree=tree)),
        history=history(events_about(tree)[:EVENTS_SHOWN]),
        counts=chill_counts(outlook),
        chill_chart=chill_chart(outlook),
        root_chart=root_chart(outlook),
    )


def _chill_lines(chill: ChillOutlook, read: str) -> list[Statement]:
    unit = chill.requirement.unit.words
    lines = [Statement("So far", str(chill.so_far), unit, read)]
    if chill.pace:
        pace = "mean of the last 14 days"
        lines.append(Statement("A day", str(chill.pace), unit, pace))
    if chill.projected:
        by = f"By {chill.planned_exit:%-d %B} at that pace"
        lines.append(Statement(by, str(chill.projected), unit, "computed here"))
    lines.append(Statement("Hours not known", chill.missing_hours, "h", read))
    return lines


def _need_line(chill: ChillOutlook) -> Statement:
    need = chill.requirement
    asked = (
        f"{need.low:g}" if need.low == need.high else f"{need.low:g} to {need.high:g}"
    )
    return Statement(
        "Needed", asked, need.unit.words, f"{need.evidence}: {need.source}"
    )


def _wake_lines(wake: WakeOutlook, read: str) -> list[Statement]:
    curve = wake.curve
    lines = [
        Statement(
            "Warmth so far, day-degrees above 5 °C",
            round(wake.thermal_time_dd, 1),
            "°C d",
            read,
        ),
        Statement("Days with a mean at or below 5 °C", wake.chill_days, "d", read),
        Statement(
            f"Warmth asked for after that chill ({curve.name})",
            round(wake.required_dd, 1),
            "°C d",
            f"{curve.evidence}: {curve.source}",
        ),
        Statement("Hours not known", wake.missing_hours, "h", read),
    ]
    if wake.guard:
        lines.append(Statement(wake.guard, "", "", "own choice, for caution"))
    return lines


def _sources(sources: Sequence[Source]) -> str:
    named = "; ".join(map(str, sources))
    return f"readings of {named}" if named else "no reading"


def _instant(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR_S, UTC)
