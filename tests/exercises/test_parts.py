"""Compound exercises: several parts in a fixed order, each told apart by where the arm is."""

import pytest

from formcheck.errors import ExerciseError
from formcheck.exercises.library import load_exercise

CYCLE = "press-and-hold-cycle"
TEXT = """
like = "press-and-hold-cycle"
name = "mine"

[[parts]]
name = "belly"
[[parts.checks]]
id = "elbow"
low = 70
"""

HIKE = """measure = "hike"
statistic = "max"
high = 1
tolerance = 1
importance = "position"
cue = "Keep your shoulder down."
praise = "Your shoulder stayed down."
source = "common practice, no source"
"""


def problem_of(path) -> str:
    with pytest.raises(ExerciseError) as caught:
        load_exercise(path)
    return str(caught.value)


def test_parts_take_their_movement_and_checks_from_other_exercises():
    cycle = load_exercise(CYCLE)
    assert [part.name for part in cycle.parts] == ["belly", "bear-hug", "low-back"]
    for part, name in zip(cycle.parts, ("belly-press", "bear-hug-press", "lift-off"), strict=True):
        single = load_exercise(name)
        assert part.primary == single.primary
        assert part.checks == tuple(c for c in single.checks if c.id not in part.without)


def test_a_part_can_be_changed_by_its_name(write):
    cycle, mine = load_exercise(CYCLE), load_exercise(write(TEXT))
    elbow = next(check for check in mine.parts[0].checks if check.id == "elbow")
    assert elbow.low == 70
    assert mine.parts[1:] == cycle.parts[1:]


def test_a_longer_hold_reaches_every_part_that_does_not_set_its_own(write):
    text = TEXT.replace('id = "elbow"', 'id = "hold"').replace("low = 70", "low = 6")
    mine = load_exercise(write(text, old="\n[[parts]]", new="\n[dose]\nhold_s = 9\n\n[[parts]]"))
    holds = [check.low for part in mine.parts for check in part.checks if check.id == "hold"]
    assert holds == [6, 9, 9]


def test_a_misspelt_part_gets_the_nearest(write):
    message = problem_of(write(TEXT, old='"belly"', new='"bely"'))
    assert 'parts "bely": there is no such part to change; did you mean "belly"?' in message


def test_a_misspelt_check_in_a_part_gets_the_nearest(write):
    message = problem_of(write(TEXT, old='"elbow"', new='"elbows"'))
    assert 'parts "belly": checks "elbows": there is no such check to change; did' in message


def test_parts_that_cannot_be_told_apart_are_refused(write):
    text = TEXT + '\n[[parts]]\nname = "bear-hug"\nrecognise = [{ measure = "hike", low = 1 }]'
    message = problem_of(write(text))
    assert 'parts "belly" and "bear-hug": cannot be told apart' in message


def test_a_check_of_the_whole_is_not_repeated_in_a_part(write):
    text = TEXT.replace("[[parts]]", '[[checks]]\nid = "hike"\n' + HIKE + "\n[[parts]]", 1)
    assert 'parts "belly".checks "hike": is also a check of the whole' in problem_of(write(text))


def test_an_unknown_key_inside_a_part_is_named_with_its_place(write):
    message = problem_of(write(TEXT, old="low = 70", new="lwo = 70"))
    assert 'parts "belly".checks "elbow".lwo = 70: unknown key; did you mean "low"?' in message


def test_a_part_like_no_known_exercise_gets_the_nearest(write):
    text = TEXT + '\n[[parts]]\nname = "new"\nlike = "bely-press"'
    assert 'parts "new".like = "bely-press": there is no exercise called' in problem_of(write(text))


def test_the_positions_of_correct_form_fall_into_their_own_part_only():
    # Hand height, elevation, plane and rotation in each position (our own reference movement).
    correct = {
        "belly": (20, 16, 25, 62),
        "bear-hug": (55, 90, 97, 82),
        "low-back": (22, 34, -48, 120),
    }
    measures = ("hand_height", "shoulder_elevation", "plane_of_elevation", "axial_rotation")
    parts = load_exercise(CYCLE).parts
    for name, values in correct.items():
        at = dict(zip(measures, values, strict=True))
        matching = [
            part.name
            for part in parts
            if all(
                (-999 if p.low is None else p.low) <= at[p.measure]
                and at[p.measure] <= (999 if p.high is None else p.high)
                for p in part.recognise
            )
        ]
        assert matching == [name]


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ('turn = "sideways"', 'parts "round".turn = "sideways"'),
        ('turn = "forward"\ncount = 0', 'parts "round".count = 0'),
        ("count = 3", 'parts "round".turn: is missing'),
    ],
)
def test_a_circle_part_that_is_wrong_is_named_with_its_key(write, line, problem):
    text = (
        f'{TEXT}\n[[parts]]\nname = "round"\nlike = "bent-elbow-circle"\n{line}\n'
        'missed = "Draw your circles."\n'
        'recognise = [{ measure = "shoulder_elevation", low = 30 }]\n'
    )
    assert problem in problem_of(write(text))
