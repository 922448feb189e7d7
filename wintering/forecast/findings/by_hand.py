"""Roots too cold by a thermometer that a person reads: it keeps its lowest.

It adds to what a logger says, or speaks where none does; sums it never feeds.
"""

from dataclasses import replace
from datetime import timedelta

from wintering.climate.queries.min_max import HandReading
from wintering.forecast.findings.cold import ADVICE, limit_evidence
from wintering.forecast.findings.statements import Finding, Statement, moment_words
from wintering.forecast.models import Flag
from wintering.forecast.queries.outlook import TreeOutlook

BESIDE_A_LOGGER = timedelta(hours=24)
"""Where a logger speaks, a reading by hand adds to it for a day and a night, as long as
the logger's own lowest is looked at: own choice. Where none does, the last reading
stands until the next one."""


def with_hand(
    finding: Finding | None, outlook: TreeOutlook, read: HandReading | None
) -> Finding | None:
    """The finding about cold roots with what was read by hand at the tree's roots."""
    limits = outlook.root_limits
    if read is None or limits.where != "root zone" or read.low_c > limits.watch_c:
        return finding
    has_logger = bool(outlook.exposure.root_sources)
    if has_logger and outlook.at - read.entry.read_at > BESIDE_A_LOGGER:
        return finding
    if outlook.roots and outlook.roots.lowest_c <= read.low_c:
        return finding
    is_act = read.low_c <= limits.act_c
    by_hand = _statement(outlook, read)
    if finding is None:
        return Finding(
            kind=Flag.Kind.ROOTS_TOO_COLD,
            level=Flag.Level.TONIGHT if is_act else Flag.Level.WEEK,
            since=read.since or read.entry.read_at,
            evidence=(by_hand, *limit_evidence(limits)),
            advice=ADVICE[Flag.Kind.ROOTS_TOO_COLD, is_act],
        )
    if is_act:
        advice = ADVICE[finding.kind, True]
        finding = replace(finding, level=Flag.Level.TONIGHT, advice=advice)
    return replace(finding, evidence=(by_hand, *finding.evidence))


def _statement(outlook: TreeOutlook, read: HandReading) -> Statement:
    """How cold, at the latest when, and how old that may be."""
    zone, entry = outlook.zone, read.entry
    if read.since is None:
        since = "since its last reset, not known when"
    else:
        since = f"since {moment_words(read.since, zone)}"
    if read.not_reset_at:
        since += f", not reset {moment_words(read.not_reset_at, zone)}"
    return Statement(
        f"Lowest in the root zone {since}, read by hand "
        f"{moment_words(entry.read_at, zone)}",
        round(read.low_c, 1),
        "°C",
        f"{entry.sensor.name}, read by {entry.by.name}",
    )
