"""An exercise that is like another says only what differs."""

import pytest

from formcheck.errors import ExerciseError
from formcheck.exercises.library import exercise_with, load_exercise

VARIANT = """
like = "scaption-raise"
name = "low-raise"

[dose]
count = 6

[[checks]]
id = "height"
low = 60
"""


def message_of(path) -> str:
    with pytest.raises(ExerciseError) as caught:
        load_exercise(path)
    return str(caught.value)


def test_only_what_differs_changes(write):
    parent, variant = load_exercise("scaption-raise"), load_exercise(write(VARIANT))
    changed = {"name", "like", "dose", "checks"}
    assert variant.model_dump(exclude=changed) == parent.model_dump(exclude=changed)
    assert (variant.dose.count, variant.dose.sets) == (6, parent.dose.sets)
    height, *others = variant.checks
    assert (height.low, height.tolerance) == (60, parent.checks[0].tolerance)
    assert tuple(others) == parent.checks[1:]


def test_a_check_can_be_left_out_and_another_added(write):
    text = (
        VARIANT.replace("name =", 'without = ["hike", "lean"]\nname =')
        + """
[[checks]]
id = "still"
measure = "elbow_flexion"
statistic = "range"
high = 10
tolerance = 5
importance = "position"
cue = "Keep your elbow still."
praise = "Your elbow stayed still."
source = "common practice, no source"
"""
    )
    ids = [check.id for check in load_exercise(write(text)).checks]
    assert ids == ["height", "plane", "elbow", "tempo", "still"]


def test_a_variant_of_a_variant_beside_it_is_found(write):
    write(VARIANT, name="base.toml")
    child = write(
        'like = "base.toml"\nname = "lower"\n[[checks]]\nid = "height"\nlow = 50', name="c.toml"
    )
    exercise = load_exercise(child)
    assert (exercise.checks[0].low, exercise.dose.count) == (50, 6)


def test_a_misspelt_check_id_gets_the_nearest(write):
    message = message_of(write(VARIANT, old='"height"', new='"hieght"'))
    assert 'checks "hieght": there is no such check to change; did you mean "height"?' in message
    assert "\n" not in message


def test_leaving_out_what_is_not_there_is_an_error(write):
    message = message_of(write(VARIANT, old="name =", new='without = ["hikes"]\nname ='))
    assert 'did you mean "hike"?' in message


def test_an_unknown_parent_gets_the_nearest(write):
    message = message_of(write(VARIANT, old="scaption-raise", new="scaption-rise"))
    assert 'did you mean "scaption-raise"?' in message


def test_a_circle_of_likes_is_named(write):
    write('like = "b.toml"\nname = "a"', name="a.toml")
    path = write('like = "a.toml"\nname = "b"', name="b.toml")
    assert "goes in a circle" in message_of(path)


def test_a_mistake_in_the_parent_is_reported_as_the_parents(write):
    parent = write(old="count = 8", new="count = 0", name="parent.toml")
    message = message_of(write('like = "parent.toml"\nname = "child"', name="child.toml"))
    assert message.startswith(f"{parent}: dose.count = 0")


def test_a_wrong_kind_of_checks_is_explained(write):
    text = 'like = "scaption-raise"\nname = "x"\nchecks = 3'
    assert message_of(write(text)).endswith("checks = 3: must be a list")


def test_changes_are_validated_like_a_file():
    raising = load_exercise("scaption-raise")
    exercise = exercise_with(raising, {"checks": [{"id": "height", "high": 90.0}]}, "plan")
    assert exercise.checks[0].high == 90
    with pytest.raises(ExerciseError, match=r'^plan: checks "height".hihg = 90: unknown key'):
        exercise_with(raising, {"checks": [{"id": "height", "hihg": 90}]}, "plan")


def test_a_longer_hold_in_the_dose_is_what_the_check_asks_for(write):
    text = 'like = "belly-press"\nname = "long-press"\n[dose]\nhold_s = 8'
    assert load_exercise(write(text)).checks[0].low == 8
    text += '\n[[checks]]\nid = "hold"\nlow = 7'
    assert load_exercise(write(text)).checks[0].low == 7


def test_a_variant_passes_its_longer_hold_on(write):
    write('like = "belly-press"\nname = "a"\n[dose]\nhold_s = 8', name="a.toml")
    child = write('like = "a.toml"\nname = "b"', name="b.toml")
    assert load_exercise(child).checks[0].low == 8


def test_a_tempo_in_the_dose_is_what_the_check_asks_for():
    slow = exercise_with(load_exercise("scaption-raise"), {"dose": {"tempo_s": [3, 1, 3]}}, "plan")
    assert next(check.low for check in slow.checks if check.measure == "duration") == 7


def check_of(exercise, check_id):
    return next(check for check in exercise.checks if check.id == check_id)


def test_the_words_of_a_check_of_time_follow_the_dose(write):
    text = 'like = "wall-slide"\nname = "slow-slide"\n[dose]\ntempo_s = [3, 1, 3]'
    tempo = check_of(load_exercise(write(text)), "tempo")
    assert (tempo.low, tempo.cue) == (7, "Slow down: take about 7 seconds for each one.")
    assert "two seconds" not in tempo.praise
    text += '\n[[checks]]\nid = "tempo"\ncue = "Three up, three down."'
    assert check_of(load_exercise(write(text)), "tempo").cue == "Three up, three down."


def test_the_usual_dose_keeps_its_words(write):
    text = 'like = "belly-press"\nname = "press"\n[dose]\nhold_s = 5'
    assert load_exercise(write(text)).checks == load_exercise("belly-press").checks


def test_the_most_that_is_wise_is_never_less_than_what_is_asked_for(write):
    text = 'like = "belly-press"\nname = "press"\n[dose]\nhold_s = '
    highs = [
        check_of(load_exercise(write(text + seconds)), "hold-long").high for seconds in ("8", "12")
    ]
    assert highs == [10, 12]


def test_what_makes_the_exercise_makes_its_variants_too(write):
    text = 'like = "scaption-raise"\nname = "low"\n[[checks]]\nid = "height"\nlow = 60'
    assert check_of(load_exercise(write(text)), "height").essential
    assert not check_of(load_exercise(write(f"{text}\nessential = false")), "height").essential
