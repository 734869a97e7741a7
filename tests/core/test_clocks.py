"""Clock offsets.

Sides: exact truth of made sounds and of a captured pitch seen through made cameras; a second algorithm
(scipy.signal.correlate on the raw samples); closed forms for the speed of sound, the weighted mean and the line;
exchange of the two clips as an identity; stated uncertainty against seeded scatter.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import correlate

from elbowroom.core.clips.types import Sound
from elbowroom.core.clocks.activity import estimate_activity_offset
from elbowroom.core.clocks.combine import combine_offsets
from elbowroom.core.clocks.lines import fit_lags
from elbowroom.core.clocks.motion import estimate_motion_offset, measure_sampson
from elbowroom.core.clocks.sound import compute_sound_speed_m_per_s, estimate_sound_offset
from elbowroom.core.clocks.tracks import fit_curve
from elbowroom.core.clocks.types import ClockOffset, ClockSource, Drift, SoundPaths
from elbowroom.core.quantities.types import Absent
from tests.makers.clips import make_clicks
from tests.makers.two_views import Errors, forget_rows, make_views, read_pitch

NEAR = SoundPaths(reference_m=0.0, other_m=0.0, standard_m=0.0)
PICTURE_S = 1 / 240
EXACT = Errors(white_px=0.0, slow_px=0.0, standing_px=0.0)


def hear(clicks_s: np.ndarray, length_s: float, rate_hz: int = 48_000, start_s: float = 0.0) -> Sound:
    # Each phone has its own noise: it differs with the clicks.
    seed = int(1e4 * float(np.sum(clicks_s))) + rate_hz
    samples = make_clicks(clicks_s - start_s, length_s, rate_hz, seed).astype(np.float32)
    return Sound(samples=samples, rate_hz=rate_hz, start_s=start_s)


def make_offset(offset_s: float, standard_s: float, source: ClockSource = ClockSource.SOUND) -> ClockOffset:
    drift = Absent(reason="not looked for")
    return ClockOffset(offset_s=offset_s, standard_s=standard_s, source=source, epoch_s=0.0, drift=drift, event_count=1)


def test_speed_of_sound_at_room_temperature() -> None:
    # 343.2 m/s at 20 C: textbook figure, from memory.
    assert compute_sound_speed_m_per_s(20.0) == pytest.approx(343.2, abs=0.1)


@pytest.mark.parametrize("clicks_s", [[1.234], [0.8, 2.1, 3.7]])
@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_sound_offset_of_two_phones(clicks_s: list[float], rate_hz: int) -> None:
    clicks = np.array(clicks_s)
    offset = estimate_sound_offset(hear(clicks, 5.0), hear(clicks + 0.5173, 6.0, rate_hz, start_s=0.25), NEAR)
    assert offset
    assert offset.offset_s == pytest.approx(-0.5173, abs=0.0001)
    assert abs(offset.offset_s + 0.5173) < 2 * offset.standard_s
    assert offset.event_count == len(clicks_s)


def test_sound_offset_agrees_with_plain_correlation() -> None:
    first, second = hear(np.array([1.0, 1.9]), 3.0), hear(np.array([1.35, 2.25]), 3.5)
    product = correlate(first.samples, second.samples, mode="full", method="fft")
    plain_s = (int(np.argmax(product)) - (len(second.samples) - 1)) / 48_000
    offset = estimate_sound_offset(first, second, NEAR)
    assert offset
    assert offset.offset_s == pytest.approx(plain_s, abs=0.0001)


def test_way_of_the_sound_is_taken_off_and_its_doubt_kept() -> None:
    clicks = np.array([1.0, 2.0])
    paths = SoundPaths(reference_m=20.0, other_m=3.0, standard_m=0.3)
    offset = estimate_sound_offset(hear(clicks + 20.0 / 343.2, 4.0), hear(clicks + 3.0 / 343.2, 4.0), paths)
    assert offset
    assert offset.offset_s == pytest.approx(0.0, abs=0.0001)
    assert offset.standard_s > np.sqrt(2) * 0.3 / 343.2


def test_drift_is_found_where_sounds_span_long_enough() -> None:
    clicks = np.linspace(1, 41, 6)
    offset = estimate_sound_offset(hear(clicks * (1 + 30e-6) + 0.2, 43.0), hear(clicks, 43.0), NEAR)
    assert offset
    assert isinstance(offset.drift, Drift)
    assert offset.drift.ratio == pytest.approx(30e-6, abs=3 * offset.drift.ratio_standard)
    np.testing.assert_allclose(offset.convert_times(clicks), clicks * (1 + 30e-6) + 0.2, atol=0.0001)
    assert offset.find_standard_s(500.0) > offset.standard_s


def test_silence_and_short_sound_are_absent() -> None:
    quiet = hear(np.array([]), 3.0)
    nothing = estimate_sound_offset(quiet, replace(quiet, samples=quiet.samples[:100]), NEAR)
    assert not nothing
    assert "short" in nothing.reason
    heard = estimate_sound_offset(hear(np.array([1.0]), 3.0), hear(np.array([]), 3.0), NEAR)
    assert not heard
    assert "No sound" in heard.reason


def test_a_wrong_lag_among_many_does_not_lead_the_line() -> None:
    times_s = np.linspace(0, 50, 9)
    lags_s = 0.1 + 1e-5 * times_s
    lags_s[4] += 0.02
    fit = fit_lags(times_s, lags_s, 0.0001)
    assert fit.used_count == 8
    assert fit.offset_s == pytest.approx(0.1 + 1e-5 * fit.epoch_s, abs=1e-9)


AZIMUTHS = [(-90, 0), (-90, 180), (-60, 20)]


@pytest.mark.parametrize("azimuths_deg", AZIMUTHS)
@pytest.mark.parametrize("pictures", [-4.37, 0.5, 6.13])
def test_motion_offset_is_exact_without_errors(
    shared_dir: Path, azimuths_deg: tuple[float, float], pictures: float
) -> None:
    views = make_views(read_pitch(shared_dir), azimuths_deg, pictures * PICTURE_S, EXACT, 0)
    offset = estimate_motion_offset(*views)
    assert offset
    assert offset.offset_s == pytest.approx(pictures * PICTURE_S, abs=0.005 * PICTURE_S)


@pytest.mark.parametrize("azimuths_deg", AZIMUTHS)
def test_motion_offset_holds_a_fifth_of_a_picture_with_landmark_errors(
    shared_dir: Path, azimuths_deg: tuple[float, float]
) -> None:
    pitch = read_pitch(shared_dir)
    offsets_s = PICTURE_S * np.linspace(1.1, 7.7, 8)
    found = [
        estimate_motion_offset(*make_views(pitch, azimuths_deg, offset_s, Errors(), seed), search_s=0.05)
        for seed, offset_s in enumerate(offsets_s)
    ]
    errors_s = np.array([offset.offset_s if offset else np.nan for offset in found]) - offsets_s
    stated_s = np.array([offset.standard_s if offset else np.nan for offset in found])
    assert np.abs(errors_s).max() < 0.2 * PICTURE_S
    # Chi-square with 8 degrees of freedom lies between 1.3 and 21.9 with 99 % (tables).
    assert 1.3 < np.sum((errors_s / stated_s) ** 2) < 21.9


def test_exchanging_the_clips_turns_the_sign(shared_dir: Path) -> None:
    first, second, fundamental = make_views(read_pitch(shared_dir), (-90, 0), 0.011, EXACT, 3)
    there = estimate_motion_offset(first, second, fundamental)
    back = estimate_motion_offset(second, first, fundamental.T)
    assert there
    assert back
    assert there.offset_s == pytest.approx(-back.offset_s, abs=1e-5)


def test_rolling_shutter_is_followed(shared_dir: Path) -> None:
    errors = replace(EXACT, row_time_s=7e-6)
    first, second, fundamental = make_views(read_pitch(shared_dir), (-90, 0), 0.01, errors, 3)
    offset = estimate_motion_offset(first, second, fundamental)
    assert offset
    assert offset.offset_s == pytest.approx(0.01, abs=0.005 * PICTURE_S)
    # One clip's rows forgotten: its times are then wrong by about half a picture's readout.
    wrong = estimate_motion_offset(first, forget_rows(second), fundamental)
    assert wrong
    assert abs(wrong.offset_s - 0.01) > 0.5 * PICTURE_S


def test_missing_landmarks_are_left_out(shared_dir: Path) -> None:
    errors = replace(Errors(), missing_share=0.25)
    views = make_views(read_pitch(shared_dir), (-90, 0), 0.01, errors, 5)
    offset = estimate_motion_offset(*views)
    assert offset
    assert offset.offset_s == pytest.approx(0.01, abs=0.3 * PICTURE_S)


def test_motion_says_where_it_cannot_tell(shared_dir: Path) -> None:
    first, second, fundamental = make_views(read_pitch(shared_dir), (-90, 0), 0.01, EXACT, 0)
    apart = replace(second, times_s=second.times_s + 100.0)
    assert not estimate_motion_offset(first, apart, fundamental)
    too_far = estimate_motion_offset(first, second, fundamental, around_s=0.08, search_s=0.05)
    assert not too_far
    assert "further apart" in too_far.reason
    still = replace(first, points_px=np.repeat(first.points_px[:1], 480, axis=0))
    frozen = replace(second, points_px=np.repeat(second.points_px[:1], 480, axis=0))
    assert not estimate_motion_offset(still, frozen, fundamental)


def test_sampson_distance_of_a_shifted_point() -> None:
    # Rectified cameras: lines of sight are rows, so a vertical shift of 3 px is 3 / hypot(1, 1) standard deviations.
    fundamental = np.array([[0.0, 0, 0], [0, 0, -1], [0, 1, 0]])
    one = np.ones(1)
    distance = measure_sampson(fundamental, np.array([[5.0, 10.0]]), np.array([[90.0, 13.0]]), one, one)
    assert abs(distance[0]) == pytest.approx(3 / np.sqrt(2))


@pytest.mark.parametrize("azimuths_deg", AZIMUTHS)
def test_movement_up_and_down_ties_unknown_cameras_within_two_pictures(
    shared_dir: Path, azimuths_deg: tuple[float, float]
) -> None:
    first, second, _ = make_views(read_pitch(shared_dir), azimuths_deg, 0.083, Errors(), 4)
    offset = estimate_activity_offset(first, second, search_s=0.2)
    assert offset
    assert offset.offset_s == pytest.approx(0.083, abs=2 * PICTURE_S)
    assert abs(offset.offset_s - 0.083) < 3 * offset.standard_s


def test_other_movement_is_not_taken_for_the_same(shared_dir: Path) -> None:
    first, second, _ = make_views(read_pitch(shared_dir), (-90, 0), 0.0, EXACT, 4)
    mixed = replace(second, points_px=second.points_px[::-1].copy())
    other = estimate_activity_offset(first, mixed, search_s=0.1)
    assert not other
    assert "same movement" in other.reason


def test_smoothing_curve_halves_a_wave_at_its_cut() -> None:
    times_s = np.arange(2400) / 240
    wave = np.sin(2 * np.pi * 20.0 * times_s)
    kept = fit_curve(times_s, wave, cut_hz=20.0)(times_s)[600:1800]
    assert np.ptp(kept) / np.ptp(wave) == pytest.approx(0.5, abs=0.01)


def test_agreeing_offsets_are_weighted() -> None:
    checked = combine_offsets([make_offset(0.100, 0.001), make_offset(0.102, 0.002, ClockSource.MOTION)])
    assert checked
    assert checked.offset.offset_s == pytest.approx((0.100 / 1 + 0.102 / 4) / (1 + 1 / 4))
    assert checked.offset.standard_s == pytest.approx(0.001 / np.sqrt(1.25))
    assert checked.disagreement == ""


def test_disagreeing_offsets_are_said_and_widened() -> None:
    checked = combine_offsets([make_offset(0.100, 0.001), make_offset(0.120, 0.002, ClockSource.MOTION)])
    assert checked
    assert "20.0 ms" in checked.disagreement
    assert checked.offset.standard_s > 0.005


def test_nothing_to_combine_gives_the_reasons() -> None:
    nothing = combine_offsets([Absent(reason="No clap."), Absent(reason="No throw.")])
    assert isinstance(nothing, Absent)
    assert nothing.reason == "No clap. No throw."


def test_drift_of_one_source_serves_the_other() -> None:
    drifting = replace(make_offset(0.1, 0.0005), epoch_s=100.0, drift=Drift(ratio=1e-5, ratio_standard=1e-7))
    checked = combine_offsets([drifting, make_offset(0.099, 0.001, ClockSource.MOTION)])
    assert checked
    assert checked.disagreement == ""
    assert checked.offset.offset_s == pytest.approx(0.1, abs=1e-9)
