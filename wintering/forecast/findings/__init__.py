"""What an outlook amounts to: risks, how urgent, on what evidence, what to do."""

from collections.abc import Iterator

from wintering.forecast.findings.ahead import ahead_evidence
from wintering.forecast.findings.by_hand import with_hand
from wintering.forecast.findings.chill import chill_evidence, chill_finding
from wintering.forecast.findings.cold import (
    cold_findings,
    is_still_cold,
    limit_evidence,
)
from wintering.forecast.findings.moisture import (
    drying_finding,
    is_still_dry,
    is_still_moist,
    mould_evidence,
    mould_finding,
)
from wintering.forecast.findings.sensors import quiet_finding
from wintering.forecast.findings.statements import Finding, Statement, measured_by
from wintering.forecast.findings.waking import wake_evidence, wake_words, waking_finding
from wintering.forecast.queries.outlook import TreeOutlook

__all__ = [
    "Finding",
    "Statement",
    "ahead_evidence",
    "chill_evidence",
    "drying_finding",
    "findings_of",
    "is_still_cold",
    "is_still_dry",
    "is_still_moist",
    "limit_evidence",
    "measured_by",
    "mould_evidence",
    "mould_finding",
    "quiet_finding",
    "wake_evidence",
    "wake_words",
    "with_hand",
]


def findings_of(outlook: TreeOutlook) -> Iterator[Finding]:
    """The risks of one tree. What is not known gives none, and says so elsewhere."""
    yield from cold_findings(outlook)
    for find in (chill_finding, waking_finding):
        found = find(outlook)
        if found:
            yield found
