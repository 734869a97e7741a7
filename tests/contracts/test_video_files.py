"""Phone video files.

Sides: the ticks and the counter that were written into the made file; the track header box patched by hand
as a second way to ask for a turn; the drawn picture itself; a click at a known time; a second decoding order.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import av
import numpy as np
import pytest

from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.video.decoding import PictureDecoder
from elbowroom.adapters.video.opening import choose_stream, open_container
from elbowroom.core.clips.types import RateSource
from elbowroom.errors import ClipError
from tests.makers.clips import SOUND_HZ, TICKS_HZ, Recipe, draw_counter, make_clip, read_counter

CODECS = ["libx264", "libx265"]


def uneven_ticks(count: int = 120) -> list[int]:
    """Make ticks of a phone that aims at 240 Hz, trembles, and drops three pictures at one place."""
    steps = np.random.default_rng(2).integers(340, 411, count)
    steps[60] = 4 * 375
    return np.cumsum(steps).tolist()


@pytest.mark.parametrize("codec", CODECS)
@pytest.mark.parametrize("suffix", ["mp4", "mov", "mkv"])
def test_times_are_the_files_own_to_its_tick(tmp_path: Path, codec: str, suffix: str) -> None:
    ticks = make_clip(tmp_path / f"a.{suffix}", Recipe(codec=codec, ticks=uneven_ticks(), gop=30, b_frames=3))
    clip = read_clip(tmp_path / f"a.{suffix}")
    tick_s = 0.001 if suffix == "mkv" else 1 / TICKS_HZ
    truth_s = (np.array(ticks) - ticks[0]) / TICKS_HZ
    assert np.abs(clip.times.times_s - truth_s).max() <= 1.001 * tick_s
    assert clip.times.gaps.tolist() == [60]
    assert clip.times.dropped_count == 3
    assert clip.times.is_variable or suffix == "mkv"


def test_even_clip_is_not_called_variable(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(rate_hz=239.76, count=60))
    times = read_clip(tmp_path / "a.mp4").times
    assert not times.is_variable
    assert times.notes == ()
    assert times.rate_hz == pytest.approx(239.76, abs=0.01)
    assert times.rate_source is RateSource.CONTAINER


@pytest.mark.parametrize("codec", CODECS)
@pytest.mark.parametrize("b_frames", [0, 3])
def test_two_hundred_random_accesses_show_no_wrong_picture(tmp_path: Path, codec: str, b_frames: int) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(codec=codec, count=240, gop=24, b_frames=b_frames))
    clip = read_clip(tmp_path / "a.mp4")
    wanted = np.random.default_rng(7).integers(0, 240, 200).tolist()
    with open_container(clip.path) as container:
        decoder = PictureDecoder(container, choose_stream(container, "a.mp4"), clip.table, "a.mp4")
        seen = [read_counter(decoder.decode(n).to_ndarray(format="rgb24")) for n in wanted]
    assert seen == wanted


class LateDecoder(PictureDecoder):
    """A decoder whose every seek lands one key picture late, as open groups of pictures make it."""

    def _seek(self, key: int) -> None:
        super()._seek(min(key + 1, len(self._table.keys) - 1) if key else 0)


@pytest.mark.parametrize("codec", CODECS)
def test_a_seek_that_lands_late_is_noticed_and_made_good(tmp_path: Path, codec: str) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(codec=codec, count=120, gop=12))
    clip = read_clip(tmp_path / "a.mp4")
    wanted = [100, 14, 63, 40, 119, 13]
    with open_container(clip.path) as container:
        decoder = LateDecoder(container, choose_stream(container, "a.mp4"), clip.table, "a.mp4")
        assert [read_counter(decoder.decode(n).to_ndarray(format="rgb24")) for n in wanted] == wanted


@pytest.mark.parametrize("codec", CODECS)
def test_sparse_and_dense_pictures_are_the_ones_asked_for(tmp_path: Path, codec: str) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(codec=codec, count=150, gop=15))
    clip = read_clip(tmp_path / "a.mp4")
    sparse = [149, 3, 77, 78, 79, 3]
    shown = [(n, read_counter(picture)) for n, picture in clip.read_pictures(sparse)]
    assert shown == [(n, n) for n in sorted(set(sparse))]
    assert [read_counter(picture) for _, picture in clip.read_pictures()] == list(range(150))


def test_a_clip_that_starts_late_and_hides_pictures_keeps_its_numbers(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(ticks=[9000 + 375 * n for n in range(40)], b_frames=3))
    clip = read_clip(tmp_path / "a.mp4")
    assert clip.times.times_s[0] == 0
    assert [read_counter(picture) for _, picture in clip.read_pictures([0, 39])] == [0, 39]


@pytest.mark.parametrize(
    ("counterclockwise_deg", "is_mirrored"),
    [(0, False), (90, False), (180, False), (-90, False), (0, True), (90, True), (180, True), (-90, True)],
)
def test_the_turn_that_the_file_asks_for_is_made_once(
    tmp_path: Path, counterclockwise_deg: int, is_mirrored: bool
) -> None:
    recipe = Recipe(rotation_deg=counterclockwise_deg, is_mirrored=is_mirrored, count=4, quality=10)
    make_clip(tmp_path / "a.mp4", recipe)
    clip = read_clip(tmp_path / "a.mp4")
    expected = np.rot90(draw_counter(2, 320, 192), counterclockwise_deg // 90)
    expected = expected[:, ::-1] if is_mirrored else expected
    ((_, picture),) = clip.read_pictures([2])
    assert picture.shape == expected.shape == (clip.clip.height_px, clip.clip.width_px, 3)
    assert np.abs(picture.astype(float) - expected).mean() < 6
    assert clip.clip.turned_deg == -counterclockwise_deg % 360
    assert clip.clip.is_mirrored is is_mirrored


def test_portrait_flag_written_by_hand_turns_clockwise(tmp_path: Path) -> None:
    # Track header matrix of a phone held upright: x' = -y, y' = x, a quarter clockwise with y down.
    path = tmp_path / "a.mp4"
    make_clip(path, Recipe(count=4, quality=10))
    data = bytearray(path.read_bytes())
    matrix = data.index(b"tkhd") + 4 + 40
    values = [0, 65536, 0, -65536, 0, 0, 0, 0, 1 << 30]
    data[matrix : matrix + 36] = b"".join(value.to_bytes(4, "big", signed=True) for value in values)
    path.write_bytes(data)
    clip = read_clip(path)
    assert (clip.clip.width_px, clip.clip.height_px, clip.clip.turned_deg) == (192, 320, 90)
    ((_, picture),) = clip.read_pictures([3])
    assert read_counter(np.rot90(picture)) == 3


def test_long_edge_shrinks_and_never_enlarges(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(count=3, rotation_deg=90))
    clip = read_clip(tmp_path / "a.mp4")
    assert next(clip.read_pictures([0], long_edge_px=160))[1].shape == (160, 96, 3)
    assert next(clip.read_pictures([0], long_edge_px=9999))[1].shape == (320, 192, 3)


def test_slow_motion_by_statement_and_by_tag(tmp_path: Path) -> None:
    make_clip(tmp_path / "plain.mp4", Recipe(rate_hz=30, count=60))
    make_clip(tmp_path / "tagged.mp4", Recipe(rate_hz=30, count=60, tags={"com.android.capture.fps": "240.0"}))
    stated = read_clip(tmp_path / "plain.mp4", 240.0).times
    tagged = read_clip(tmp_path / "tagged.mp4").times
    for times, source in ((stated, RateSource.STATED), (tagged, RateSource.FILE_TAG)):
        assert times.rate_source is source
        assert times.slow_factor == pytest.approx(8.0)
        np.testing.assert_allclose(times.times_s, np.arange(60) / 240.0, atol=1e-9)
    assert read_clip(tmp_path / "plain.mp4").times.rate_hz == pytest.approx(30.0)
    both = read_clip(tmp_path / "tagged.mp4", 120.0).times
    assert both.rate_hz == pytest.approx(120.0)
    assert "240" in both.notes[0]


@pytest.mark.parametrize("suffix", ["mp4", "mov", "mkv"])
def test_click_is_found_to_a_millisecond(tmp_path: Path, suffix: str) -> None:
    make_clip(tmp_path / f"a.{suffix}", Recipe(count=480, clicks_s=[1.234]))
    clip = read_clip(tmp_path / f"a.{suffix}")
    for window in ((), (1.1, 1.4)):
        sound = clip.read_sound(*window)
        assert sound
        first = int(np.argmax(np.abs(sound.samples) > 0.2))
        assert sound.start_s + first / sound.rate_hz == pytest.approx(1.234, abs=0.001)


def test_sound_is_timed_from_the_first_picture(tmp_path: Path) -> None:
    late = [round(0.5 * TICKS_HZ) + 375 * n for n in range(240)]
    make_clip(tmp_path / "a.mov", Recipe(ticks=late, clicks_s=[1.0], sound_s=1.5))
    sound = read_clip(tmp_path / "a.mov").read_sound()
    assert sound
    assert sound.start_s == pytest.approx(-0.5, abs=0.001)
    first = int(np.argmax(np.abs(sound.samples) > 0.2))
    assert sound.start_s + first / sound.rate_hz == pytest.approx(0.5, abs=0.001)


def test_sound_of_slow_motion_follows_its_length(tmp_path: Path) -> None:
    slow = Recipe(rate_hz=30, count=60, clicks_s=[0.16], sound_s=0.25)
    make_clip(tmp_path / "life.mov", slow)
    life = read_clip(tmp_path / "life.mov", 240.0).read_sound()
    assert life
    assert life.rate_hz == SOUND_HZ
    make_clip(tmp_path / "slow.mov", Recipe(rate_hz=30, count=60, clicks_s=[1.6], sound_s=2.0))
    slowed = read_clip(tmp_path / "slow.mov", 240.0).read_sound()
    assert slowed
    for sound, click_s in ((life, 0.16), (slowed, 0.2)):
        first = int(np.argmax(np.abs(sound.samples) > 0.2))
        assert sound.start_s + first / sound.rate_hz == pytest.approx(click_s, abs=0.001)
    make_clip(tmp_path / "neither.mov", Recipe(rate_hz=30, count=60, clicks_s=[0.5], sound_s=1.0))
    assert not read_clip(tmp_path / "neither.mov", 240.0).read_sound()


def test_silent_clip_says_so(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(count=4))
    sound = read_clip(tmp_path / "a.mp4").read_sound()
    assert not sound
    assert "no sound" in sound.reason


@pytest.mark.parametrize("times_shown", [2, 4, 8])
@pytest.mark.parametrize("codec", CODECS)
def test_repeated_pictures_are_found_and_timing_refused(tmp_path: Path, codec: str, times_shown: int) -> None:
    def draw(number: int, width: int, height: int) -> np.ndarray:
        picture = draw_counter(number // times_shown, width, height)
        grain = np.random.default_rng(number // times_shown).normal(0, 3, picture.shape)
        return np.clip(picture + grain, 0, 255).astype(np.uint8)

    make_clip(tmp_path / "a.mp4", Recipe(codec=codec, count=96, draw=draw))
    times = read_clip(tmp_path / "a.mp4").find_repeats()
    truth = np.arange(96) % times_shown != 0
    inside = slice(times_shown, -times_shown)
    # A key picture codes a repeat anew, and that may look like a change: few may be missed, none invented.
    assert not np.any(times.repeated[inside] & ~truth[inside])
    assert np.mean(times.repeated[inside] != truth[inside]) <= 0.02
    assert not times.timing.instants
    assert "repeat" in times.timing.instants.reason


@pytest.mark.parametrize("codec", CODECS)
def test_true_pictures_are_not_called_repeats(tmp_path: Path, codec: str) -> None:
    def draw(number: int, width: int, height: int) -> np.ndarray:
        return draw_counter(0 if number < 40 else number, width, height)

    make_clip(tmp_path / "a.mp4", Recipe(codec=codec, count=96))
    times = read_clip(tmp_path / "a.mp4").find_repeats()
    assert not times.repeated.any()
    assert times.timing.arm_rates
    assert times.is_checked


def test_timing_is_refused_until_repeats_are_looked_for(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4")
    timing = read_clip(tmp_path / "a.mp4").times.timing
    assert not timing.instants
    assert "not checked" in timing.instants.reason


def damage(path: Path, kind: str) -> None:
    whole = path.read_bytes()
    kinds = {
        "empty": b"",
        "text": b"not a video " * 400,
        "zeros": bytes(4096),
        "head only": whole[:40],
        "cut": whole[: int(0.7 * len(whole))],
        "cut in the index": whole[:-9],
        "list of addresses": b"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\na.ts\n",
    }
    path.write_bytes(kinds[kind])


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("empty", "empty"),
        ("text", "no MP4"),
        ("zeros", "no MP4"),
        ("head only", "cut off|damaged"),
        ("cut", "cut off"),
        ("cut in the index", "cut off"),
        ("list of addresses", "no MP4"),
    ],
)
@pytest.mark.parametrize("layout", ["", "faststart", "frag_keyframe+empty_moov"])
def test_damaged_file_gets_one_sentence(tmp_path: Path, kind: str, says: str, layout: str) -> None:
    path = tmp_path / "a.mp4"
    make_clip(path, Recipe(muxer={"movflags": layout} if layout else {}, clicks_s=[0.1]))
    damage(path, kind)
    with pytest.raises(ClipError, match=says) as caught:
        read_clip(path)
    assert str(caught.value).count(". ") == 0
    assert str(tmp_path) not in str(caught.value)


def test_matroska_cut_in_the_middle_is_refused(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mkv", Recipe(count=480))
    whole = (tmp_path / "a.mkv").read_bytes()
    (tmp_path / "a.mkv").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(ClipError, match="cut off"):
        read_clip(tmp_path / "a.mkv")


def test_missing_file_folder_sound_only_and_single_picture(tmp_path: Path) -> None:
    with pytest.raises(ClipError, match="not there"):
        read_clip(tmp_path / "none.mp4")
    with pytest.raises(ClipError, match="is a folder"):
        read_clip(tmp_path)
    make_clip(tmp_path / "one.mp4", Recipe(ticks=[0]))
    with pytest.raises(ClipError, match="fewer than two pictures"):
        read_clip(tmp_path / "one.mp4")
    with av.open(str(tmp_path / "sound.mp4"), "w") as container:
        stream = container.add_stream("aac", rate=SOUND_HZ)
        block = av.AudioFrame.from_ndarray(np.zeros((1, 4096), np.float32), format="fltp", layout="mono")
        block.sample_rate = SOUND_HZ
        container.mux(stream.encode(block))
        container.mux(stream.encode())
    with pytest.raises(ClipError, match="no moving picture"):
        read_clip(tmp_path / "sound.mp4")


@contextmanager
def be_nobody() -> Iterator[None]:
    """Read files as a user without rights where the tests run as root, who may read any file."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if is_root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if is_root:
            os.seteuid(0)


def test_forbidden_file(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4")
    read_clip(tmp_path / "a.mp4")
    (tmp_path / "a.mp4").chmod(0)
    with be_nobody(), pytest.raises(ClipError, match="permissions"):
        read_clip(tmp_path / "a.mp4")


def test_forbidden_file_as_any_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make_clip(tmp_path / "a.mp4")

    def refuse(self: Path, mode: str) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(ClipError, match="permissions"):
        read_clip(tmp_path / "a.mp4")


@pytest.mark.parametrize("rate_hz", [0.0, -240.0, float("nan"), float("inf"), 1e9, 60.0])
def test_nonsense_rates_are_refused(tmp_path: Path, rate_hz: float) -> None:
    make_clip(tmp_path / "a.mp4")
    with pytest.raises(ClipError, match="rate"):
        read_clip(tmp_path / "a.mp4", rate_hz)


def test_numbers_that_the_clip_lacks_are_refused(tmp_path: Path) -> None:
    make_clip(tmp_path / "a.mp4", Recipe(count=4))
    clip = read_clip(tmp_path / "a.mp4")
    for number in (-1, 4):
        with pytest.raises(ClipError, match="pictures 0 to 3"):
            next(clip.read_pictures([number]))


def test_pictures_destroyed_in_the_file_are_not_passed_off(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    make_clip(path, Recipe(count=60, gop=60, quality=10))
    data = bytearray(path.read_bytes())
    table = read_clip(path).table
    with open_container(path) as container:
        entries = choose_stream(container, "a.mp4").index_entries
        places = [(entry.pos, entry.size) for entry in entries]
    for start, size in places[20:30]:
        data[start : start + size] = bytes(size)
    path.write_bytes(data)
    clip = read_clip(path)
    assert len(table.ticks) == 60
    with pytest.raises(ClipError, match="damaged"):
        list(clip.read_pictures())
