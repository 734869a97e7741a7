"""The invented screened visit kept in a record, with proxies whose pictures carry their number and the true figure."""

from __future__ import annotations

import json
import tempfile
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.video.proxy import make_proxy
from elbowroom.bootstrap_review import build_review_tools
from elbowroom.core.cameras.project import project_points
from elbowroom.core.landmarks.names import BONES
from elbowroom.service.filming_types import ProxyEntry
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, FileKind
from elbowroom.service.reviewing import ReviewTools
from tests.makers.clips import Recipe, draw_counter, make_clip
from tests.makers.kept_visit import COUNT, EYES, GAP_S, NAMES, RATE_HZ, make_camera, make_kept_parcel, make_places
from tests.makers.record import STAMP, add_child

WIDTH, HEIGHT = 320, 180
"""Size of the small clips; the workings speak of 1280 by 720, four times as large."""
SHRINK = 4


@cache
def film_invented(view_number: int) -> tuple[bytes, bytes]:
    """Return the proxy of one clip and its table of picture times; made once a process."""
    camera = make_camera("", list(EYES.values())[view_number])
    times = np.arange(COUNT) / RATE_HZ
    joints = np.concatenate([make_places(times[times // GAP_S == number] - number * GAP_S) for number in range(3)])
    pixels = project_points(camera, joints.reshape(-1, 3)).reshape(len(joints), -1, 2) / SHRINK

    def draw(number: int, width: int, height: int) -> NDArray[np.uint8]:
        picture = draw_counter(number, width, height)
        picture[height // 2 : height // 2 + 40] = 96
        for first, second in BONES:
            ends = [tuple(int(value) for value in pixels[number, joint]) for joint in (first, second)]
            cv2.line(picture, ends[0], ends[1], (150, 190, 220), 3)
        return picture

    with tempfile.TemporaryDirectory() as folder:
        clip, proxy, table = (Path(folder) / name for name in ("clip.mp4", "proxy.mp4", "times.json"))
        make_clip(clip, Recipe(count=COUNT, rate_hz=RATE_HZ, width=WIDTH, height=HEIGHT, draw=draw))
        make_proxy(clip, proxy, table, lambda words, done, total: None)
        return proxy.read_bytes(), table.read_bytes()


def keep_invented(record: RecordTools, folder: Path, *, has_video: bool = False) -> tuple[ReviewTools, str]:
    """Keep the invented visit and return what its review works with, and the id of the visit."""
    athlete_id = add_child(record)
    visit_id = keep_visit(record, athlete_id, make_kept_parcel(folder), STAMP).visit_id
    if has_video:
        for number, name in enumerate(NAMES):
            keep_proxy(record, visit_id, name, film_invented(number), folder)
    return build_review_tools(record), visit_id


def keep_proxy(record: RecordTools, visit_id: str, name: str, made: tuple[bytes, bytes], folder: Path) -> None:
    """Keep a clip's proxy as a worker would."""
    clips = record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.CLIP))
    clip = next(file for file in clips if file.name == name)
    entries = []
    for kind, content in zip((FileKind.PROXY, FileKind.PICTURE_TIMES), made, strict=True):
        path = folder / f"{name} {kind}"
        path.write_bytes(content)
        stored = record.vault.store_file(path, clip.athlete_id)
        entries.append(
            FileEntry(
                id=record.make_id(),
                athlete_id=clip.athlete_id,
                visit_id=visit_id,
                kind=kind,
                name=path.name,
                recorded_at=STAMP.at,
                recorded_by=STAMP.by,
                **vars(stored),
            )
        )
    proxy = ProxyEntry(
        id=record.make_id(),
        athlete_id=clip.athlete_id,
        visit_id=visit_id,
        clip_file_entry_id=clip.id,
        proxy_file_entry_id=entries[0].id,
        times_file_entry_id=entries[1].id,
        recorded_at=STAMP.at,
        recorded_by=STAMP.by,
    )
    record.entries.add_entries([*entries, proxy])


def count_pictures(table: bytes) -> int:
    """Return how many pictures a table of picture times names."""
    return len(json.loads(table)["seek_s"])
