"""The intake: what cannot be true is named all at once, and warning signs stop until a clinician releases them.

Sides: a table of wrong intakes with the words that each must bring; the rules of the table against patterns of pain
written here by hand from check-values F (stop-throwing list); the closed set of outcomes over answers and releases.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from elbowroom.core.plan.intake import (
    Answer,
    BodySide,
    Intake,
    PainMoment,
    PainPlace,
    PastTrouble,
    RecentCount,
    TroubleKind,
    check_intake,
    list_intake_problems,
)
from elbowroom.core.plan.warnings import (
    Clear,
    Hold,
    Release,
    Released,
    apply_releases,
    check_not_held,
    judge_intake,
    list_family_words,
)
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import HoldError, IntakeError
from tests.makers.intakes import DAY, SIGNS, make_answers, make_intake, make_pain

NOT_GIVEN = Absent(reason="Not given.")
LATER = date(2026, 3, 9)
WRONG = {
    "future": ({"taken_on": LATER}, "2026-03-09 is yet to come"),
    "too young": ({"age_years": 3.0}, "outside of the tables"),
    "too old": ({"age_years": 90.0}, "outside of the tables"),
    "giant": ({"height_m": 15.8, "sitting_height_m": NOT_GIVEN}, "1580 cm cannot be"),
    "feet for metres": ({"height_m": 5.2, "sitting_height_m": NOT_GIVEN}, "check number and unit"),
    "pounds for kilograms": ({"mass_kg": 220.0}, "220 kg cannot be"),
    "legs without trunk": ({"sitting_height_m": 1.5}, "does not go with 158 cm"),
    "months": ({"months_off": 13}, "0 to 12"),
    "count tomorrow": ({"counts": (RecentCount(day=LATER, team="a", pitches=3),)}, "after the day of the questions"),
    "count of many": ({"counts": (RecentCount(day=DAY, team="a", pitches=900),)}, "not believed"),
    "negative count": ({"counts": (RecentCount(day=DAY, team="a", pitches=-1),)}, "not believed"),
    "same team twice": ({"counts": (RecentCount(day=DAY, team="Otters", pitches=3),) * 2}, "named twice"),
    "pain of twelve": ({"pains": (make_pain(worst=12),)}, "0 to 10"),
    "pain to come": ({"pains": (make_pain(days=-2),)}, "0 or more"),
    "sleep": ({"sleep_hours": 30}, "0 to 24"),
    "growth": ({"grown_m": 0.6}, "60 cm in a year"),
    "injury to come": (
        {
            "past": (
                PastTrouble(
                    kind=TroubleKind.INJURY,
                    what=" ",
                    side=BodySide.THROWING,
                    began_on=LATER,
                    is_settled=True,
                ),
            )
        },
        "say what it was",
    ),
}


def test_true_intake_passes() -> None:
    check_intake(make_intake(), DAY)


@pytest.mark.parametrize("case", WRONG)
def test_wrong_intake_is_named(case: str) -> None:
    changes, words = WRONG[case]
    with pytest.raises(IntakeError, match=words):
        check_intake(make_intake(**changes), DAY)


def test_everything_is_named_at_once() -> None:
    intake = make_intake(taken_on=LATER, age_years=3.0, mass_kg=400.0, months_off=20)
    assert [problem.where for problem in list_intake_problems(intake, DAY)] == ["taken_on", "age", "mass", "months_off"]


def test_two_teams_on_one_day_are_two_counts() -> None:
    counts = tuple(RecentCount(day=DAY, team=team, pitches=20) for team in ("Otters", "Herons"))
    check_intake(make_intake(counts=counts), DAY)


def test_no_sign_is_clear() -> None:
    assert isinstance(judge_intake(make_intake(), SIGNS), Clear)


@pytest.mark.parametrize("key", [sign.key for sign in SIGNS if sign.question])
@pytest.mark.parametrize("answer", [Answer.YES, Answer.NOT_ASKED])
def test_every_question_stops_alone(key: str, answer: Answer) -> None:
    standing = judge_intake(make_intake(answers=make_answers(**{key: answer})), SIGNS)
    assert isinstance(standing, Hold)
    assert [item.sign.key for item in standing.reasons] == [key]


def test_question_left_out_stops() -> None:
    assert isinstance(judge_intake(make_intake(answers={}), SIGNS), Hold)


PATTERNS = (
    ("growing, inner elbow", 13.0, make_pain(worst=1), ["growing_arm_pain"]),
    ("growing, shoulder", 18.9, make_pain(PainPlace.BACK_OF_SHOULDER, worst=2), ["growing_arm_pain"]),
    ("growing, glove side", 13.0, make_pain(side=BodySide.GLOVE, worst=2), []),
    ("growing, knee", 13.0, make_pain(PainPlace.KNEE, worst=5), []),
    ("adult, a little", 25.0, make_pain(worst=3, days=3), []),
    ("adult, four of ten", 25.0, make_pain(worst=4, days=3), ["adult_arm_pain"]),
    ("adult, two weeks", 25.0, make_pain(worst=1, days=14), ["lasting_arm_pain"]),
    ("adult, at night", 25.0, make_pain(PainPlace.KNEE, worst=2, moments=(PainMoment.AT_NIGHT,)), ["rest_pain"]),
    ("adult, strong back", 25.0, make_pain(PainPlace.LOW_BACK, worst=7), ["strong_pain"]),
    ("gone", 13.0, make_pain(worst=0), []),
)


@pytest.mark.parametrize(("age", "pain", "keys"), [row[1:] for row in PATTERNS], ids=[row[0] for row in PATTERNS])
def test_patterns_of_pain(age: float, pain, keys: list[str]) -> None:  # type: ignore[no-untyped-def]
    standing = judge_intake(make_intake(age_years=age, pains=(pain,)), SIGNS)
    assert [item.sign.key for item in standing.reasons] if isinstance(standing, Hold) else keys == []
    assert isinstance(standing, Clear if not keys else Hold)


def make_held(*keys: str) -> tuple[Intake, Hold]:
    intake = make_intake(answers=make_answers(**dict.fromkeys(keys, Answer.YES)))
    standing = judge_intake(intake, SIGNS)
    assert isinstance(standing, Hold)
    return intake, standing


def make_release(*keys: str) -> Release:
    return Release(signs=keys, by="Rowan", on=DAY, reason="examined, an old scar")


def test_release_of_all_signs_lets_go_with_name_and_reason() -> None:
    _, hold = make_held("pop", "fever")
    standing = apply_releases(hold, [make_release("pop"), make_release("fever")])
    assert isinstance(standing, Released)
    assert "Rowan on 2026-03-01: examined, an old scar" in standing.reason
    check_not_held(standing, "drills")


def test_release_of_one_sign_keeps_the_other() -> None:
    _, hold = make_held("pop", "fever")
    standing = apply_releases(hold, [make_release("pop")])
    assert isinstance(standing, Hold)
    assert [item.sign.key for item in standing.reasons] == ["fever"]


def test_release_of_another_sign_changes_nothing() -> None:
    _, hold = make_held("pop")
    assert apply_releases(hold, [make_release("fever")]) == hold
    assert apply_releases(hold, []) == hold


def test_hold_says_what_to_do_and_why() -> None:
    _, hold = make_held("numbness")
    with pytest.raises(HoldError, match=r"No throwing tests while .* shows.*numb or tingling.*by name and"):
        check_not_held(hold, "throwing tests")


def test_family_words_are_plain_and_urgent_first() -> None:
    intake, _ = make_held("locking", "cold_arm")
    standing = judge_intake(replace(intake, pains=(make_pain(),)), SIGNS)
    assert isinstance(standing, Hold)
    words = list_family_words(standing)
    assert words[0].startswith("For now: no throwing.")
    assert "hospital now" in words[1]
    assert not any(term in " ".join(words) for term in ("labrum", "epicondyle", "osteochondritis", "capitellum"))
