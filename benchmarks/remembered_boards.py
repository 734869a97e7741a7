"""Board corners of a clip remembered on disk; lens, poses and everything after them are found anew each time."""

from __future__ import annotations

import hashlib
import pickle
from pathlib import Path

import cv2

from elbowroom.adapters.boards import board, detect, set_up
from elbowroom.adapters.boards.detect import BoardSight
from elbowroom.adapters.results.digests import digest_file
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.core.clips.types import Clip


class RememberingFinder(set_up.BoardAndMarkFinder):
    """The product's camera finder, which looks at each board clip once for each version of the finding of corners."""

    def __init__(self, folder: Path, used: board.Board) -> None:
        """`folder` holds what is remembered; `used` is the board that was filmed."""
        super().__init__(read_clip, used)
        self._folder = folder

    def _look_at_board(self, path: Path, clip: Clip) -> list[BoardSight]:
        kept = self._folder / f"board-{digest_file(path)[:20]}-{digest_finding()}.pickle"
        if kept.is_file():
            return list(pickle.loads(kept.read_bytes()))
        sights = super()._look_at_board(path, clip)
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(pickle.dumps(sights))
        return sights


def digest_finding() -> str:
    """Digest the code that finds corners and the version of the library behind it."""
    sources = [Path(module.__file__ or "").read_bytes() for module in (board, detect, set_up)]
    return hashlib.sha256(b"".join(sources) + cv2.__version__.encode()).hexdigest()[:16]
