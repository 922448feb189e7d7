"""What is known of a taxon or of one tree, question by question, for its page."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone

from wintering.forecast.effects import (
    LATER_WATCH,
    WATCH,
    Difference,
    Effect,
    effects_of,
    trees_spoken_of,
)
from wintering.forecast.queries.limits import sets_root_limit, tender_limits_of
from wintering.people.models import User
from wintering.science.hardiness import ROOT_CLASSES, RootClass, RootLimits
from wintering.stays.queries import trees_in_care
from wintering.trees.attributes import (
    ASKED,
    ATTRIBUTES,
    Theme,
    by_question,
    label_of,
    theme_of,
)
from wintering.trees.models import Taxon, TaxonFact, Tree
from wintering.trees.queries import FactChange, Facts, trees_for

Subject = Taxon | Tree
# Unknown roots count as class RC.
UNKNOWN_KILL_C = ROOT_CLASSES[RootClass.RC].kill_c


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to be known, and what is stated of it, what stands first in front."""

    name: str
    label: str
    facts: Sequence[TaxonFact]
    state_url: str

    @property
    def best(self) -> TaxonFact:
        return self.facts[0]


@dataclass(frozen=True, slots=True)
class FactPage:
    """The parts of a page of facts.

    cautions  what to beware of
    themes    headings, each with the questions that something is stated of
    trials    questions on which no care rests
    unknown   what a keeper needs for a winter and nobody has stated
    assumed_kill_c  where neither class nor figure is known, what roots are taken to
                    be killed at [°C]
    tender          limits of its roots where no class counts: it must not freeze
    """

    cautions: Sequence[TaxonFact]
    caution_url: str
    themes: Sequence[tuple[str, Sequence[Question]]]
    trials: Sequence[Question]
    unknown: Sequence[Question]
    taken_back: Sequence[TaxonFact]
    assumed_kill_c: float | None
    tender: RootLimits | None


def fact_page(about: Subject, facts: Facts) -> FactPage:
    """The page of a taxon or a tree, from what is known of it."""
    by_theme: dict[Theme, list[Question]] = {theme: [] for theme in Theme}
    for name in sorted(facts.stated, key=by_question):
        by_theme[theme_of(name)].append(_question(about, name, facts))
    tender = tender_limits_of(facts)
    put_apart = {Theme.CAUTION, Theme.TRIALS}
    return FactPage(
        cautions=facts.all("caution"),
        caution_url=state_url(about, "caution"),
        themes=[
            (theme.value, questions)
            for theme, questions in by_theme.items()
            if questions and theme not in put_apart
        ],
        trials=by_theme[Theme.TRIALS],
        unknown=[
            _question(about, name, facts) for name in ASKED if not facts.all(name)
        ],
        taken_back=list(_taken_back(about)),
        assumed_kill_c=None if tender or _tells_of_roots(facts) else UNKNOWN_KILL_C,
        tender=tender,
    )


def _tells_of_roots(facts: Facts) -> bool:
    """Whether a class is known, or a figure that may set a limit of its own."""
    figures = facts.all("root_kill_temp")
    return bool(facts.all("root_class") or any(map(sets_root_limit, figures)))


def state_url(about: Subject, attribute: str) -> str:
    if isinstance(about, Tree):
        return reverse("web:tree-fact", args=[about.number, attribute])
    return reverse("web:taxon-fact", args=[about.pk, attribute])


def page_url(about: Subject) -> str:
    if isinstance(about, Tree):
        return reverse("web:tree-facts", args=[about.number])
    return about.get_absolute_url()


def _question(about: Subject, name: str, facts: Facts) -> Question:
    return Question(
        name=name,
        label=label_of(name),
        facts=facts.all(name),
        state_url=state_url(about, name) if name in ATTRIBUTES else "",
    )


def _taken_back(about: Subject) -> QuerySet[TaxonFact]:
    facts = about.own_facts if isinstance(about, Tree) else about.facts
    found = facts.exclude(withdrawn_on=None).select_related("by")
    return found.order_by("-withdrawn_on", "-pk")


@dataclass(frozen=True, slots=True)
class Preview:
    """What a change would do to the trees here, before it is kept.

    spoken_of  how many trees here the fact is about
    """

    spoken_of: int
    effects: Sequence[Effect]

    @property
    def groups(self) -> list[tuple[tuple[Difference, ...], list[Tree]]]:
        """What changes, each said once, with the trees it changes for."""
        found: dict[tuple[Difference, ...], list[Tree]] = {}
        for effect in self.effects:
            found.setdefault(effect.differences, []).append(effect.tree)
        return list(found.items())

    @property
    def warned_later(self) -> Sequence[Tree]:
        """Trees whose roots would be warned of at a lower temperature than now."""
        return [effect.tree for effect in self.effects if _warns_later(effect)]


def preview(change: FactChange, user: User, at: datetime) -> Preview:
    """For the trees in care that the user may see."""
    here = trees_for(user).filter(pk__in=trees_in_care(timezone.localdate(at)))
    fact = change.put_in or change.taken_out
    trees = list(trees_spoken_of(fact, here))
    return Preview(len(trees), effects_of(change, trees, at))


def _warns_later(effect: Effect) -> bool:
    return any(
        difference.after.what in (WATCH, LATER_WATCH)
        and _is_number(difference.before.value, difference.after.value)
        and difference.after.value < difference.before.value
        for difference in effect.differences
    )


def _is_number(*values: float | str) -> bool:
    return not any(isinstance(value, str) for value in values)


def stand_ins(stated: Mapping[str, Sequence[TaxonFact]]) -> Iterable[TaxonFact]:
    """One fact of each genus or habit that stands in for a taxon."""
    several = (facts[0] for facts in stated.values() if facts[0].is_fallback)
    return {fact.speaks_of: fact for fact in several}.values()
