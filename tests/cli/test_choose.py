"""What a clip is checked as, where its exercise was not named."""

import pytest

from formcheck.cli import choose
from formcheck.cli.choose import choices, settle
from formcheck.errors import ExerciseError, UnrecognisedError
from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.measures.measure import measure_track
from formcheck.pipeline.selection import Choice, clearly, meant_by
from formcheck.recognise.recognise import Guess
from tests.synthetic import Arm, constant, cycles, make_track


def raising(plane, side="right"):
    arm = Arm(
        elevation=cycles([1.5, 6.0], 8, 110, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(plane)
    )
    return measure_track(make_track(duration_s=11, **{side: arm}))


def both_sides(name):
    return tuple(Choice(load_exercise(name), side) for side in ("left", "right"))


def test_a_name_settles_it_without_a_look_at_the_clip():
    (only,) = choices("elbow-curl", "left", None)
    assert settle((only,), None, "clip.mp4") is only
    with pytest.raises(ExerciseError, match="did you mean"):
        choices("elbow-crul", None, None)


def test_neighbours_are_refused_where_nobody_can_answer():
    with pytest.raises(UnrecognisedError, match=r"side-raise \d+%.*Name it with --exercise"):
        settle(choices(None, None, None), raising(22.0), "clip.mp4")


def test_somebody_who_says_yes_settles_it_and_no_refuses(monkeypatch):
    monkeypatch.setattr(choose.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(choose.sys.stderr, "isatty", lambda: True, raising=False)
    asked = []

    def answer(yes):
        monkeypatch.setattr(
            choose.typer, "confirm", lambda text, **options: asked.append(text) or yes
        )

    answer(True)
    found = settle(choices(None, None, None), raising(2.0), "clip.mp4")
    assert found.exercise.name == "side-raise"
    assert "% sure" in asked[0]
    answer(False)
    with pytest.raises(UnrecognisedError):
        settle(choices(None, None, None), raising(2.0), "clip.mp4")


@pytest.mark.parametrize("side", ["left", "right"])
def test_of_one_exercise_for_each_side_the_side_is_found(side):
    assert settle(both_sides("side-raise"), raising(2.0, side), "clip.mp4").side == side


def test_a_clip_without_a_movement_is_refused():
    still = measure_track(make_track(duration_s=5))
    with pytest.raises(UnrecognisedError, match="none is seen"):
        settle(both_sides("side-raise"), still, "clip.mp4")


PROGRAMME = """
client = "heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "side-raise"
side = "right"
[[items]]
exercise = "elbow-curl"
side = "right"
"""
VARIANT = """
[[items]]
exercise = "raise-with-a-can"
side = "{}"
"""


@pytest.fixture
def prescribed(tmp_path):
    """Options of a programme with a raise and, on the side given, the same with a can in the hand."""
    can = 'name = "raise-with-a-can"\ntitle = "Side raise with a can"\nlike = "side-raise"\n'
    (tmp_path / "raise-with-a-can.toml").write_text(can + 'load = "weight"\n')

    def options(side):
        path = tmp_path / "programme.toml"
        variant = VARIANT.format(side).replace("raise-with-a-can", "raise-with-a-can.toml")
        path.write_text(PROGRAMME + variant)
        return choices(None, None, load_programme(path))

    return options


def test_a_variant_in_the_programme_that_looks_the_same_is_named_and_not_passed_over(prescribed):
    with pytest.raises(UnrecognisedError) as refused:
        settle(prescribed("right"), raising(2.0), "clip.mp4")
    assert "side-raise or raise-with-a-can" in str(refused.value)
    assert "--exercise" in str(refused.value)
    with pytest.raises(UnrecognisedError, match="side-raise or raise-with-a-can"):
        clearly(prescribed("right"), raising(2.0))


def test_a_variant_for_the_other_arm_is_meant_where_that_arm_works(prescribed):
    for side, name in (("right", "side-raise"), ("left", "raise-with-a-can")):
        assert clearly(prescribed("left"), raising(2.0, side)).exercise.name == name


def test_somebody_may_choose_between_exercises_that_look_the_same(prescribed, monkeypatch):
    monkeypatch.setattr(choose.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(choose.sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(choose.typer, "confirm", lambda text, **_: text.endswith("with-a-can?"))
    found = settle(prescribed("right"), raising(2.0), "clip.mp4")
    assert found.exercise.name == "raise-with-a-can"


def test_of_the_whole_library_the_exercise_itself_stands_for_its_variants():
    best = Guess(load_exercise("scaption-raise"), "right", 0.9)
    (found,) = meant_by(best, choices(None, None, None))
    assert found.exercise.name == "scaption-raise"
