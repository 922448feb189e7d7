"""Prints the table of speeds; the exit code is 1 if a limit is missed.

Without a word it measures the science. `logs` measures imports, readings and charts on
databases of their own, `large` a file of 2 GB too, `posting` five minutes of loggers.
"""

import os
import sys
from collections.abc import Callable, Iterator

# one core, whatever else is there: before NumPy is imported
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})

from tests.bench.charting import chart_measures
from tests.bench.logs import large_measures, log_measures
from tests.bench.measures import Measure, measures
from tests.bench.posting import posting_measures


def _logs() -> Iterator[Measure]:
    yield from log_measures()
    yield from chart_measures()


PARTS: dict[str, Callable[[], Iterator[Measure]]] = {
    "science": measures,
    "logs": _logs,
    "large": large_measures,
    "posting": posting_measures,
}


def _row(measure: Measure) -> str:
    return (
        f"{measure.figure:>12}  {measure.times:>7}  {measure.limit:>10}  "
        f"{measure.verdict:>4}  {measure.what}"
    )


def main(words: list[str]) -> int:
    if unknown := [word for word in words if word not in PARTS]:
        sys.stderr.write(f"No part is called {unknown[0]}: {', '.join(PARTS)}.\n")
        return 2
    sys.stdout.write(
        f"{'figure':>12}  {'ratio':>7}  {'limit':>10}  {'met?':>4}  "
        "what (times: best of several runs, one core)\n"
    )
    missed = 0
    for part in words or ["science"]:
        for measure in PARTS[part]():
            missed += measure.met is False
            sys.stdout.write(_row(measure) + "\n")
            sys.stdout.flush()
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
