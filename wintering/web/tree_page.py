"""All about one tree, gathered for its page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from wintering.care.queries import Care, TreeWater, care_of, water_of, why_not_now
from wintering.forecast.findings import (
    Statement,
    ahead_evidence,
    chill_evidence,
    limit_evidence,
    measured_by,
    wake_evidence,
    wake_words,
)
from wintering.forecast.models import Flag
from wintering.forecast.queries import (
    Ahead,
    ChillCounts,
    OwnPot,
    TreeOutlook,
    ahead_of,
    chill_counts,
    own_pot,
    season_of,
    standing_flags,
    tree_outlook,
)
from wintering.people.models import User
from wintering.people.queries import events_about
from wintering.science.acclimation import Season
from wintering.science.budbreak import Budbreak
from wintering.science.dormancy import Bracket
from wintering.science.series import HOUR_S
from wintering.stays.models import Stay
from wintering.stays.queries import Place, places_of, stays_for
from wintering.trees.models import Photo, Pot, TaxonFact, Tree
from wintering.trees.queries import photos_for
from wintering.web.charts import Chart
from wintering.web.charts.trees import chill_chart, root_chart, season_chart
from wintering.web.history import HistoryLine, history

EVENTS_SHOWN = 60
NEEDS = ("dormancy_class", "chilling_requirement", "winter_light", "wake_rank")
TOP = ("zone_limit_temp", "usda_zone_min", "usda_zone_max")
ROOTS = ("root_class", "root_kill_temp", "root_hardiness_class", "root_survival_range")


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
    season: Season | None
    own_pot: OwnPot | None
    ahead: Ahead | None
    water: TreeWater
    is_for_staff: bool

    @property
    def place(self) -> Place | None:
        return self.outlook.place

    @property
    def portrait(self) -> Photo | None:
        """The newest front view, else the newest photo."""
        fronts = (photo for photo in self.photos if photo.view == Photo.View.FRONT)
        return next(fronts, next(iter(self.photos), None))

    @property
    def charts(self) -> list[Chart]:
        drawn = (
            chill_chart(self.outlook, self.ahead),
            root_chart(self.outlook),
            season_chart(self.outlook, self.season),
        )
        return [chart for chart in drawn if chart]

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
    def wake_words(self) -> str:
        return wake_words(self.outlook)

    @property
    def is_before_winter(self) -> bool:
        return self.outlook.today <= self.outlook.chill_start

    @property
    def reckoned_from(self) -> str:
        first = self.outlook.chill_start
        if self.tree.leaf_fall_on == first:
            return "Its leaves fell today: the count begins with this day's readings."
        return f"Its winter is reckoned from {first:%-d %B} on."

    @property
    def no_waking(self) -> str:
        """Why no index of waking is reckoned, as a sentence."""
        rest = self.rest_fact
        if self.is_before_winter:
            return self.reckoned_from
        if rest is None:
            return "Not known yet: nothing is stated of its winter rest."
        if self.outlook.wake is None and self.outlook.exposure.air.c.size:
            return (
                f"Not reckoned: the index is for trees that need cold dormancy, and of "
                f"this one is stated that it {rest.value}."
                if rest.value != "no dormancy"
                else "Not reckoned: it has no dormancy to wake from."
            )
        return (
            "Not known yet: no air reading speaks for a place it has stood in since "
            f"{self.outlook.chill_start:%-d %B}."
        )

    @property
    def no_root_reading(self) -> str:
        """Why there is no root-zone temperature, as a sentence."""
        if self.place is None:
            return "Not known yet: it stands on no place of a frame."
        if not self.outlook.exposure.root_sources:
            unknown = (
                f"Not known yet: no root-zone sensor speaks for {self.place.label}."
            )
            mend = "Give its part of the frame a sensor, or let it follow another part."
            return f"{unknown} {mend}" if self.is_for_staff else unknown
        return "Not known yet: the sensor has not read in the last 24 hours."

    @property
    def may_be_harmed_before_act(self) -> bool:
        """Whether the roots may bear less now than where the limits say to act."""
        roots = self.season.root if self.season else None
        return roots is not None and roots.today.mild_c > self.outlook.root_limits.act_c

    @property
    def no_coldest(self) -> str:
        """Why there is no coldest root zone of the winter, as a sentence."""
        return self.reckoned_from if self.is_before_winter else self.no_root_reading

    @property
    def no_chill(self) -> str:
        """Why there is no sum of chill, as a sentence."""
        if self.is_before_winter:
            return self.reckoned_from
        if self.outlook.requirement is None:
            return "Not known yet: nothing is stated that this taxon needs cold."
        return (
            "Not known yet: no air reading speaks for a place it has stood in "
            f"since {self.outlook.chill_start:%-d %B}."
        )

    @property
    def chill_ahead(self) -> Bracket | None:
        """Chill by the planned exit, as its place's other winters would have it."""
        exit_on = self.outlook.planned_exit
        if self.ahead is None or exit_on <= self.outlook.today:
            return None
        return self.ahead.chill_by(exit_on)

    @property
    def budbreak(self) -> Budbreak | None:
        """The spread of budbreak to come; None where the sums do not bear one.

        The curve is that of trees that shed their leaves, and buds that move need none.
        """
        found = self.ahead.budbreak if self.ahead else None
        if found is None or not found.reliable or self.outlook.has_moving_buds:
            return None
        return None if self.tree.taxon.is_evergreen else found.warning

    @property
    def no_budbreak(self) -> str:
        """Why nothing is said of when buds break, where a keeper may look for it."""
        if self.outlook.has_moving_buds or self.tree.taxon.is_evergreen:
            return ""
        if self.ahead is None:
            return "its place has no readings of another winter to go by."
        found = self.ahead.budbreak
        if found is None or found.reliable:
            return ""
        return "too many hours of this winter are missing where it has stood."

    @property
    def why_not_water(self) -> list[str]:
        return why_not_now(self.outlook.exposure)

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
        found = list(limit_evidence(self.outlook.root_limits))
        winter = self.outlook.roots_winter
        if winter:
            hours = (winter.hours_at_watch, winter.hours_at_act, winter.missing_hours)
            found.append(
                Statement(
                    "Hours at or below watch, at or below act, not known",
                    ", ".join(map(str, hours)),
                    "h",
                    measured_by(self.outlook.exposure.root_sources),
                )
            )
        return found

    @property
    def chill_evidence(self) -> list[Statement]:
        return list(chill_evidence(self.outlook))

    @property
    def wake_evidence(self) -> list[Statement]:
        return list(wake_evidence(self.outlook))

    @property
    def ahead_evidence(self) -> list[Statement]:
        return list(ahead_evidence(self.ahead)) if self.ahead else []

    @property
    def pot_evidence(self) -> list[Statement]:
        read = measured_by(self.outlook.exposure.air_sources)
        return [Statement(self.own_pot.assumed, None, "", read)] if self.own_pot else []


def tree_page(tree: Tree, user: User, at: datetime) -> TreePage:
    outlook = tree_outlook(tree, at)
    stays = stays_for(user).filter(tree=tree)
    pot = tree.pots.filter(until=None).first()
    return TreePage(
        tree=tree,
        outlook=outlook,
        flags=list(standing_flags(user).filter(tree=tree)),
        care=care_of([tree])[tree.pk],
        places=list(reversed(places_of([tree]).get(tree.pk, []))),
        stay=stays.on(outlook.today).first(),
        pot=pot,
        photos=list(photos_for(user).filter(tree=tree)),
        history=history(events_about(tree)[:EVENTS_SHOWN]),
        counts=chill_counts(outlook),
        season=season_of(outlook),
        own_pot=own_pot(outlook, pot),
        ahead=ahead_of(outlook),
        water=water_of(outlook, pot),
        is_for_staff=user.is_staffing,
    )


def _instant(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR_S, UTC)
