"""Worker processes that are children of this one: begun, begun again where one dies, and ended."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence

CLOSE_AFTER_S = 5.0
"""How long a child gets to put its job back."""
PAUSE_S, LONG_PAUSE_S = 0.2, 10.0
"""Pause before a dead child is begun again, and where it died at once."""
AT_ONCE_S = 3.0


class WorkerPool:
    """Keeps some worker processes running until it is closed.

    A child gets the passphrase through a pipe to its standard input, never in its words or its environment. The pipe
    stays open as long as this process lives: its end tells the child to stop, also after a kill.
    """

    def __init__(self, commands: Sequence[Sequence[str]], passphrase: str, environment: Mapping[str, str]) -> None:
        """`commands` are the words of each child, after those that run this Python and this program."""
        self._passphrase, self._environment = passphrase, dict(environment)
        self._closing = threading.Event()
        self._lock = threading.Lock()
        self._children: dict[int, subprocess.Popen[bytes]] = {}
        self._threads = [
            threading.Thread(target=self._tend, args=(number, list(words)), daemon=True)
            for number, words in enumerate(commands)
        ]
        for thread in self._threads:
            thread.start()

    def list_ids(self) -> tuple[int, ...]:
        """Return the process ids of the children that run."""
        with self._lock:
            return tuple(child.pid for child in self._children.values() if child.poll() is None)

    def run_out(self) -> None:
        """Return when every child has ended by itself."""
        for thread in self._threads:
            thread.join()

    def close(self) -> None:
        """Tell the children to stop and wait for them; who does not come to an end is killed."""
        self._closing.set()
        with self._lock:
            children = list(self._children.values())
        for child in children:
            _close_pipe(child)
        for child in children:
            try:
                child.wait(CLOSE_AFTER_S)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
        self.run_out()

    def _tend(self, number: int, words: list[str]) -> None:
        """Run one child after another until one ends well or the pool closes."""
        while not self._closing.is_set():
            began_s = time.monotonic()
            child = self._begin_child(number, words)
            status = child.wait()
            _close_pipe(child)
            if status == 0:
                return
            self._closing.wait(LONG_PAUSE_S if time.monotonic() - began_s < AT_ONCE_S else PAUSE_S)

    def _begin_child(self, number: int, words: list[str]) -> subprocess.Popen[bytes]:
        with self._lock:
            child = subprocess.Popen(
                [sys.executable, "-m", "elbowroom", *words],
                stdin=subprocess.PIPE,
                env=self._environment,
                # Ctrl-C is for this process, which then tells the children.
                start_new_session=True,
            )
            self._children[number] = child
        with contextlib.suppress(OSError):
            assert child.stdin is not None
            child.stdin.write(self._passphrase.encode() + b"\n")
            child.stdin.flush()
        if self._closing.is_set():
            _close_pipe(child)
        return child


def _close_pipe(child: subprocess.Popen[bytes]) -> None:
    if child.stdin is not None:
        with contextlib.suppress(OSError):
            child.stdin.close()
