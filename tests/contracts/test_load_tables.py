"""The tables of the loads: body segments, balls, published loads.

Sides: the whole body sums to one; numbers fixed by their sources; what a broken table is refused for; what of the
tables reaches an athlete's arm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.adapters.tables.loads import (
    BALLS,
    BANDS,
    SEGMENTS,
    read_balls,
    read_load_bands,
    read_load_tables,
    read_segments,
)
from elbowroom.adapters.tables.rows import read_packaged_text
from elbowroom.core.loads.bodies import ARM, build_arm_numbers, draw_arm_numbers, draw_balls, find_child_mass_share
from elbowroom.core.loads.definitions import LOADS
from elbowroom.core.loads.types import BallKind, Segment, Sex, TableName, Thrower
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import TableError

TABLES = read_load_tables()
ONCE, TWICE = ("head", "head and neck", "trunk"), ("upper arm", "forearm", "hand", "thigh", "shank", "foot")
THROWER = Thrower(age_years=30.0, height_m=1.8, mass_kg=80.0, sex=Sex.MALE, ball=BallKind.BASEBALL)


def sum_masses(table: TableName, sex: Sex | None, age_years: float | None) -> float:
    """Add up a whole body: single segments once, paired ones twice."""
    total = 0.0
    for row in TABLES.segments:
        is_here = row.table is table and (sex is None or row.sex is sex)
        if is_here and (age_years is None or row.age_years == age_years):
            total += float(row.mass_share.real) * (row.segment in ONCE) + 2 * float(row.mass_share) * (
                row.segment in TWICE
            )  # type: ignore[union-attr, arg-type]
    return total


@pytest.mark.parametrize(("sex", "whole"), [(Sex.MALE, 1.0000), (Sex.FEMALE, 0.9999)])
def test_de_leva_sums_to_one(sex: Sex, whole: float) -> None:
    # de Leva 1996, table 4, second-hand copy: the sums that its copies give.
    assert sum_masses(TableName.DE_LEVA, sex, None) == pytest.approx(whole, abs=1e-9)


@pytest.mark.parametrize("age_years", [6.0, 12.0, 15.0, 18.0])
def test_jensen_sums_to_one(age_years: float) -> None:
    # Eight numbers rounded to 0.1 %, six of them counted twice: the sum may be off by (2 + 6 x 2) x 0.05 %.
    assert sum_masses(TableName.JENSEN, None, age_years) == pytest.approx(1.0, abs=0.007)


@pytest.mark.parametrize(("sex", "whole"), [(Sex.MALE, 0.4346), (Sex.FEMALE, 0.4257)])
def test_parts_of_the_trunk_sum_to_it(sex: Sex, whole: float) -> None:
    rows = {row.segment: row.mass_share for row in TABLES.segments if row.table is TableName.DE_LEVA and row.sex is sex}
    parts = [rows[f"{part} trunk"] for part in ("upper", "middle", "lower")]
    assert sum(part for part in parts if not isinstance(part, Absent)) == pytest.approx(whole, abs=1e-9)


def test_a_child_is_between_the_ages_of_the_table() -> None:
    assert find_child_mass_share(TABLES.segments, Segment.HAND, 12.0) == pytest.approx(0.009)
    assert find_child_mass_share(TABLES.segments, Segment.UPPER_ARM, 9.0) == pytest.approx((0.024 + 0.032) / 2)
    assert find_child_mass_share(TABLES.segments, Segment.UPPER_ARM, 4.0) == pytest.approx(0.024)


def test_no_birthday_makes_a_jump() -> None:
    ages = np.arange(5.0, 25.0, 0.05)
    masses = [
        float(build_arm_numbers(replace(THROWER, age_years=float(age)), TABLES).forearm.mass_kg[0, 0]) for age in ages
    ]
    assert np.abs(np.diff(masses)).max() < 0.01
    # de Leva: 1.62 % of 80 kg; at 18 Jensen: 1.9 %.
    assert masses[-1] == pytest.approx(0.0162 * 80.0)
    assert masses[int(np.argmin(np.abs(ages - 18.0)))] == pytest.approx(0.019 * 80.0)


def test_sex_chooses_the_table() -> None:
    for sex, share, centre in ((Sex.MALE, 0.0271, 0.5772), (Sex.FEMALE, 0.0255, 0.5754)):
        upper = build_arm_numbers(replace(THROWER, sex=sex), TABLES).upper_arm
        assert float(upper.mass_kg[0, 0]) == pytest.approx(80.0 * share)
        assert float(upper.centre_share[0, 0]) == pytest.approx(centre)


def test_draws_of_the_body_come_from_the_tables() -> None:
    numbers = draw_arm_numbers(replace(THROWER, age_years=12.0), TABLES, 200, np.random.default_rng(1))
    assert numbers.forearm.mass_kg.shape == (201, 1)
    # Jensen at 12 years, de Leva (male), Dempster: forearm; and three tables of its centre.
    assert sorted(set(np.round(numbers.forearm.mass_kg[:, 0] / 80.0, 4))) == [0.016, 0.0162, 0.017]
    assert sorted(set(np.round(numbers.upper_arm.centre_share[:, 0], 4))) == [0.436, 0.513, 0.5772]
    assert float(numbers.forearm.mass_kg[0, 0]) == pytest.approx(0.017 * 80.0)


@pytest.mark.parametrize(
    ("kind", "lightest_g", "heaviest_g"),
    [(BallKind.BASEBALL, 141.7, 148.8), (BallKind.SOFTBALL_12, 177.2, 198.4), (BallKind.SOFTBALL_11, 166.6, 173.6)],
)
def test_balls_are_within_their_rules(kind: BallKind, lightest_g: float, heaviest_g: float) -> None:
    # Rules in ounces, second-hand copies (11 in: from memory), in grams as check values give them.
    balls = draw_balls(replace(THROWER, ball=kind), TABLES, 300, np.random.default_rng(2)).ball
    grams = 1000 * balls.mass_kg
    assert grams.min() == pytest.approx(lightest_g, abs=0.6)
    assert grams.max() == pytest.approx(heaviest_g, abs=0.6)
    assert float(balls.reach_share.std()) == pytest.approx(0.2, rel=3 / np.sqrt(2 * 300))


def test_published_loads_name_a_load_and_a_method() -> None:
    units = {item.key: {"N m": ("N m", "% BW H"), "N": ("N", "% BW")}[item.unit] for item in LOADS}
    assert TABLES.bands
    for band in TABLES.bands:
        assert band.unit in units[band.load]
        assert band.method
        assert band.is_seen != ("from memory" in band.source)


BROKEN = {
    "mass above one": (SEGMENTS, read_segments, ",0.0271,", ",1.0271,", "mass_share holds 1.0271"),
    "unknown table": (SEGMENTS, read_segments, "de Leva 1996,male,,upper arm", "Nobody,male,,upper arm", "use one of"),
    "unknown sex": (SEGMENTS, read_segments, "de Leva 1996,male,,hand,", "de Leva 1996,both,,hand,", "female, male"),
    "no source": (BALLS, read_balls, "Official Baseball Rules 3.01 (rule text not seen)", "", "source is empty"),
    "unknown ball": (BALLS, read_balls, "baseball,", "stone,", "ball holds 'stone'"),
    "masses exchanged": (BALLS, read_balls, "5,5.25", "5.25,5", "exchange them"),
    "no method": (
        BANDS,
        read_load_bands,
        "marker-based motion laboratory; whole shoulder force",
        "",
        "method is empty",
    ),
    "wrong unit": (BANDS, read_load_bands, ",% BW H,", ",stones,", "unit holds 'stones'"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_table_is_refused(case: str) -> None:
    name, read, old, new, words = BROKEN[case]
    text = read_packaged_text(name)
    assert old in text
    with pytest.raises(TableError, match=words):
        read(text.replace(old, new, 1))


def test_every_segment_of_the_arm_has_all_numbers() -> None:
    for sex in Sex:
        numbers = build_arm_numbers(replace(THROWER, sex=sex), TABLES)
        for segment in (numbers.upper_arm, numbers.forearm, numbers.hand):
            assert 0.1 < float(segment.mass_kg[0, 0]) < 3.0
            assert 0.05 < float(segment.long_share[0, 0]) < float(segment.sagittal_share[0, 0])
    assert len(ARM) == 3
