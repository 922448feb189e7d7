"""Reading who is in care and who stands where."""

from wintering.stays.queries.arrivals import (
    NOT_FOR_THE_FRAME,
    beyond_agreement,
    cold_doubt,
    cold_refusal,
    is_inferred,
)
from wintering.stays.queries.care import (
    Place,
    places_of,
    places_on,
    stays_for,
    trees_in_care,
    trees_in_frame,
)
from wintering.stays.queries.plans import (
    FramePlan,
    PlanBench,
    PlanLevel,
    PlanModule,
    PlanTree,
    fit_at,
    frame_plan,
)

__all__ = [
    "NOT_FOR_THE_FRAME",
    "FramePlan",
    "Place",
    "PlanBench",
    "PlanLevel",
    "PlanModule",
    "PlanTree",
    "beyond_agreement",
    "cold_doubt",
    "cold_refusal",
    "fit_at",
    "frame_plan",
    "is_inferred",
    "places_of",
    "places_on",
    "stays_for",
    "trees_in_care",
    "trees_in_frame",
]
