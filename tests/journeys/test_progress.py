"""How far a job has come, in words.

Sides: a clock that the test moves, with the times worked out by hand; a stream that is a terminal and one that is not.
"""

from __future__ import annotations

import io

import pytest

from elbowroom.cli.progress import ProgressLine, phrase_time_left


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def play(stream: io.StringIO, steps: list[tuple[float, str, int]]) -> str:
    """Play (time, stage, done of 100) into a progress line and return what it wrote."""
    now = [0.0]
    progress = ProgressLine(stream, clock=lambda: now[0])
    for time_s, what, done in steps:
        now[0] = time_s
        progress(what, done, 100)
    progress.close_line()
    return stream.getvalue()


def test_file_gets_a_line_for_each_stage_and_every_ten_seconds() -> None:
    steps = [(float(second), "looking", 2 * second) for second in range(1, 51)] + [(51.0, "measuring", 1)]
    lines = play(io.StringIO(), steps).splitlines()
    assert lines[0] == "looking: 2 %"
    # 10 s for 22 %: 10 x 78 / 22 = 35.45 s.
    assert lines[1] == "looking: 22 %, about 35 s left"
    assert lines[-2:] == ["looking: 100 %", "measuring: 1 %"]
    assert len(lines) == 1 + 4 + 1 + 1


def test_terminal_gets_one_bar_a_stage() -> None:
    text = play(Terminal(), [(0.0, "looking", 0), (0.1, "looking", 10), (10.0, "looking", 50), (11.0, "next", 0)])
    assert text.count("\n") == 2
    assert "10 %" not in text
    assert "[############            ] looking: 50 %, about 10 s left" in text


@pytest.mark.parametrize(
    ("elapsed_s", "share", "words"),
    [(10, 0.5, ", about 10 s left"), (60, 0.25, ", about 3 min left"), (0.5, 0.5, ""), (9, 0.01, ""), (9, 1.0, "")],
)
def test_time_left_is_in_proportion(elapsed_s: float, share: float, words: str) -> None:
    assert phrase_time_left(elapsed_s, share) == words
