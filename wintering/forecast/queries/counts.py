"""A tree's chill by two models side by side, because no single one fits every place."""

from dataclasses import dataclass

from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.chill import portions
from wintering.science.dormancy import Accumulated, Bracket, ChillUnit, accumulated


@dataclass(frozen=True, slots=True)
class ChillCounts:
    """Chill since its start, with what gaps leave open.

    hours_0_7    hours at 0 to 7.2 °C
    portions     chill portions of the Dynamic model
    after_frost  portions that were fixed within a day after an hour below -2 °C, which
                 the model banks in frost without evidence from below 0 °C
    cautious     portions of the conservative variant, in which frost banks nothing:
                 another quantity, never to be mixed with the published one
    """

    hours_0_7: Bracket
    portions: Bracket
    after_frost: float
    cautious: float


def chill_counts(outlook: TreeOutlook) -> ChillCounts | None:
    """None where no air was measured, or before the chill began."""
    air, days = outlook.exposure.air, outlook.days
    if not len(days) or not air.c.size:
        return None
    c = air.window(days.first_hour, days.end_hour).c
    return ChillCounts(
        hours_0_7=_last(accumulated(air, days, ChillUnit.CHILL_HOURS_0_7)),
        portions=_last(accumulated(air, days, ChillUnit.PORTIONS)),
        after_frost=float(portions(c).released_after_frost),
        cautious=float(portions(c, hold_in_frost=True).state.total),
    )


def _last(summed: Accumulated) -> Bracket:
    return Bracket(float(summed.low[-1]), float(summed.high[-1]))
