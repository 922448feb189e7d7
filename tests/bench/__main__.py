"""Prints the table of speeds; the exit code is 1 if a limit is missed."""

import os
import sys

# one core, whatever else is there: before NumPy is imported
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})

from tests.bench.measures import Measure, measures


def _row(measure: Measure) -> str:
    ratio = f"{measure.ratio:.0f} x" if measure.ratio else ""
    limit = ""
    if measure.limit_s is not None:
        limit = f"< {measure.limit_s * 1000:.0f} ms"
    elif measure.least_ratio is not None:
        limit = f">= {measure.least_ratio:.0f} x"
    met = {True: "yes", False: "NO", None: ""}[measure.met]
    time = f"{measure.seconds * 1000:.2f} ms"
    return f"{time:>12}  {ratio:>6}  {limit:>10}  {met:>4}  {measure.what}"


def main() -> int:
    sys.stdout.write(
        f"{'time':>12}  {'ratio':>6}  {'limit':>10}  {'met?':>4}  "
        "what (best of several runs, one core)\n"
    )
    missed = 0
    for measure in measures():
        missed += measure.met is False
        sys.stdout.write(_row(measure) + "\n")
        sys.stdout.flush()
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
