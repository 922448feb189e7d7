"""What is measured, each against its limit, and compared where there is a choice."""

import pkgutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from time import perf_counter

import numpy as np

import wintering.science
from tests.bench.plain import plain_totals
from tests.bench.winters import HOURS, winters
from wintering.science.accumulating import ARRAYS, advance, begun, from_plain, to_plain

SENSORS, WINTERS = 50, 10
ALL_MODELS_S, RESUMED_S, IMPORT_S, TIMES_QUICKER = 0.120, 0.005, 0.300, 40.0
LOOP_SENSORS = 6


@dataclass(frozen=True)
class Measure:
    """One row of the table: a time or memory and a most, a ratio and a least."""

    what: str
    seconds: float | None = None
    limit_s: float | None = None
    ratio: float | None = None
    least_ratio: float | None = None
    mb: float | None = None
    limit_mb: float | None = None
    count: int | None = None  # of what must not happen

    @property
    def figure(self) -> str:
        if self.seconds is not None:
            return f"{self.seconds * 1000:,.2f} ms"
        return f"{self.mb:,.0f} MB" if self.mb is not None else f"{self.count:,}"

    @property
    def times(self) -> str:
        if self.ratio is None:
            return ""
        return f"{self.ratio:.2f} x" if self.ratio < 10 else f"{self.ratio:.0f} x"

    @property
    def limit(self) -> str:
        if self.limit_s is not None:
            return f"< {self.limit_s * 1000:.0f} ms"
        if self.limit_mb is not None:
            return f"< {self.limit_mb:.0f} MB"
        if self.least_ratio is not None:
            return f">= {self.least_ratio:g} x"
        return "0" if self.count is not None else ""

    @property
    def verdict(self) -> str:
        return {True: "yes", False: "NO", None: ""}[self.met]

    @property
    def met(self) -> bool | None:
        """Whether the limit is kept; None where there is none."""
        if self.limit_s is not None and self.seconds is not None:
            return self.seconds < self.limit_s
        if self.limit_mb is not None and self.mb is not None:
            return self.mb < self.limit_mb
        if self.count is not None:
            return self.count == 0
        if self.ratio is not None and self.least_ratio is not None:
            return self.ratio >= self.least_ratio
        return None


def best_s(work: Callable[[], object], runs: int) -> float:
    """The shortest of several runs: the others measure what else the machine did."""
    times = []
    for _ in range(runs):
        begin = perf_counter()
        work()
        times.append(perf_counter() - begin)
    return min(times)


def measures() -> Iterator[Measure]:
    columns = SENSORS * WINTERS
    c = winters(columns)
    all_s = best_s(lambda: advance(begun((columns,)), c), 15)
    yield Measure(
        f"all models, {SENSORS} sensors x {WINTERS} winters = {c.size:,} sensor-hours",
        all_s,
        limit_s=ALL_MODELS_S,
    )
    holed = winters(columns, missing_share=0.01)
    yield Measure(
        "the same with 1 % of the hours missing for every sensor, bridged",
        best_s(lambda: advance(begun((columns,)), holed), 5),
    )
    yield _plain_loop(c, all_s / c.size)
    yield from _resumed(c[:, :SENSORS])
    yield Measure(
        "import of all of wintering.science, beyond NumPy's own",
        min(_import_s() for _ in range(7)),
        limit_s=IMPORT_S,
    )


def _plain_loop(c: np.ndarray, vectorised_s: float) -> Measure:
    """The loop on a few sensors only; times are compared by the sensor-hour."""
    sample = c[:, :LOOP_SENSORS]
    columns = sample.T.tolist()
    loop_s = best_s(lambda: [plain_totals(column) for column in columns], 5)
    found = advance(begun((LOOP_SENSORS,)), sample)
    for index, column in enumerate(columns):
        for name, total in plain_totals(column).items():
            np.testing.assert_allclose(
                getattr(found, name)[index], total, rtol=1e-9, err_msg=name
            )
    return Measure(
        f"plain Python loop on a sample of {sample.size:,} of these, found equal to "
        "1e-9; ratio by the sensor-hour",
        loop_s,
        ratio=loop_s / sample.size / vectorised_s,
        least_ratio=TIMES_QUICKER,
    )


def _resumed(c: np.ndarray) -> Iterator[Measure]:
    """One more day on a winter's state, as it is and from how it is saved."""
    state, day = advance(begun((SENSORS,)), c[:-24]), c[-24:]
    saved = to_plain(state)
    whole, resumed = advance(begun((SENSORS,)), c), advance(from_plain(saved), day)
    for name in ARRAYS:
        np.testing.assert_array_equal(getattr(resumed, name), getattr(whole, name))
    yield Measure(
        f"one new day for {SENSORS} sensors on the state of {HOURS - 24:,} hours, "
        "found the same to the last bit",
        best_s(lambda: advance(state, day), 50),
        limit_s=RESUMED_S,
    )
    yield Measure(
        "the same with the state read from its saved form and written again",
        best_s(lambda: to_plain(advance(from_plain(saved), day)), 50),
        limit_s=RESUMED_S,
    )


def _import_s() -> float:
    """In a fresh interpreter, after NumPy: every module of the science."""
    modules = pkgutil.iter_modules(wintering.science.__path__, "wintering.science.")
    names = ", ".join(module.name for module in modules)
    code = (
        "from time import perf_counter; import numpy; begin = perf_counter()\n"
        f"import {names}\n"
        "print(perf_counter() - begin)"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    return float(told.stdout)
