"""How far a long job has come, on the error stream: a bar for people, a line now and then for files."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TextIO

BAR_LETTERS = 24
LINE_EVERY_S = 10.0
BAR_EVERY_S = 0.2


class ProgressLine:
    """Shows each stage with its share and the time left; call it with what is done, how much, of how much."""

    def __init__(self, stream: TextIO | None = None, clock: Callable[[], float] = time.monotonic) -> None:
        """`stream` is the error stream where left out; `clock` gives seconds."""
        self._stream = stream or sys.stderr
        self._clock = clock
        self._is_terminal = self._stream.isatty()
        self._what, self._started_s, self._shown_s, self._is_open = "", 0.0, 0.0, False

    def __call__(self, what: str, done: int, total: int) -> None:
        """Take in how far a stage has come, and show it where it is time to."""
        now_s = self._clock()
        is_new = what != self._what
        if is_new:
            self.close_line()
            self._what, self._started_s = what, now_s
        pause_s = BAR_EVERY_S if self._is_terminal else LINE_EVERY_S
        if is_new or done >= total or now_s - self._shown_s >= pause_s:
            self._show(done, total, now_s)
            self._shown_s = now_s

    def show_line(self, words: str) -> None:
        """Print a line of its own, such as a download that begins."""
        self.close_line()
        self._write(words + "\n")

    def close_line(self) -> None:
        """End the bar, so that what follows begins on a line of its own."""
        if self._is_open:
            self._write("\n")
            self._is_open = False

    def _show(self, done: int, total: int, now_s: float) -> None:
        share = done / total if total > 0 else 1.0
        words = f"{self._what}: {100 * share:.0f} %"
        left = phrase_time_left(now_s - self._started_s, share)
        if not self._is_terminal:
            self._write(f"{words}{left}\n")
            return
        bar = "#" * round(BAR_LETTERS * share)
        self._write(f"\r[{bar:<{BAR_LETTERS}}] {words}{left}\x1b[K")
        self._is_open = True

    def _write(self, text: str) -> None:
        self._stream.write(text)
        self._stream.flush()


def phrase_time_left(elapsed_s: float, share: float) -> str:
    """Return the time left in words, after `elapsed_s` for a share of the work; nothing while it cannot be told."""
    if share >= 1 or share <= 0.02 or elapsed_s < 1:
        return ""
    left_s = elapsed_s * (1 - share) / share
    return f", about {left_s:.0f} s left" if left_s < 90 else f", about {left_s / 60:.0f} min left"
