"""Opens clips for the use cases."""

from __future__ import annotations

from pathlib import Path

from elbowroom.adapters.video.clip_file import ClipFile, read_clip


class VideoClipReader:
    """A `ClipReader` over phone video files."""

    def read_clip(self, path: Path, stated_rate_hz: float | None = None) -> ClipFile:
        """Open a clip and check that it is whole; raises `ClipError` with one sentence that says what to do."""
        return read_clip(path, stated_rate_hz)
