"""Reads the sound of a clip onto the clip's capture clock."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer

from elbowroom.core.clips.types import Samples

SAME_LENGTH = 0.1
"""Sound and pictures whose lengths differ by less than this share ran on the same clock."""


class Block(NamedTuple):
    """Consecutive samples and the file's own time of the first, seconds."""

    start_s: float
    samples: Samples


def read_blocks(container: InputContainer, stream: AudioStream, start_s: float, stop_s: float) -> Iterator[Block]:
    """Read one channel of sound between two of the file's own times, in blocks of the decoder's size."""
    if start_s > 0 and stream.time_base is not None:
        container.seek(int(start_s / stream.time_base), stream=stream, backward=True)
    resampler = AudioResampler(format="flt", layout="mono")
    for frame in container.decode(stream):
        if frame.pts is None or frame.time_base is None:
            continue
        block_s = float(frame.pts * frame.time_base)
        if block_s >= stop_s:
            return
        if block_s + frame.samples / frame.sample_rate > start_s:
            parts = [part.to_ndarray().reshape(-1) for part in resampler.resample(frame)]
            yield Block(block_s, np.concatenate(parts).astype(np.float32))


def join_blocks(blocks: list[Block], rate_hz: float) -> Samples:
    """Join blocks by their times, so that lost sound leaves silence and no shift."""
    starts = [round((block.start_s - blocks[0].start_s) * rate_hz) for block in blocks]
    length = max(start + len(block.samples) for start, block in zip(starts, blocks, strict=True))
    samples = np.zeros(length, dtype=np.float32)
    for start, block in zip(starts, blocks, strict=True):
        samples[start : start + len(block.samples)] = block.samples
    return samples


def find_sound_factor(sound_s: float, pictures_s: float, slow_factor: float) -> float | None:
    """Find how many times slower than life sound plays where the pictures play `slow_factor` times slower.

    Args:
        sound_s, pictures_s: lengths of sound and pictures by the file's own clock, seconds.

    Returns None where the lengths fit neither slowed sound nor sound at life's speed.
    """
    if slow_factor == 1.0 or abs(sound_s - pictures_s) <= SAME_LENGTH * pictures_s:
        return slow_factor
    capture_s = pictures_s / slow_factor
    return 1.0 if abs(sound_s - capture_s) <= SAME_LENGTH * capture_s else None
