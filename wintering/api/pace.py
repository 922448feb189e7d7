"""How fast one sender may post: so much a second, with room for a burst."""

import threading
import time
from collections.abc import Callable


class Pace:
    """A bucket for each key that fills at a steady rate; a post takes one from it.

    It lives in this process: several processes each grant their own.
    """

    def __init__(
        self, a_second: float, burst: int, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._a_second, self._burst, self._clock = a_second, burst, clock
        self._left: dict[int, tuple[float, float]] = {}
        self._lock = threading.Lock()

    def wait_s(self, key: int) -> float:
        """0 and a post is taken; else the seconds until one is to be had."""
        with self._lock:
            now = self._clock()
            left, then = self._left.get(key, (float(self._burst), now))
            left = min(self._burst, left + (now - then) * self._a_second)
            if left < 1:
                self._left[key] = left, now
                return (1 - left) / self._a_second
            self._left[key] = left - 1, now
            return 0.0
