"""What a clip is checked as, where its exercise was not named."""

import pytest

from formcheck.errors import ExerciseError, UnrecognisedError, UsageError
from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.measures.measure import measure_track
from formcheck.pipeline import selection
from formcheck.pipeline.selection import Candidate, candidates_for, resolve
from formcheck.recognise.recognise import Guess
from tests.synthetic import Arm, constant, cycles, make_track


def raising(plane, side="right"):
    arm = Arm(
        elevation=cycles([1.5, 6.0], 8, 110, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(plane)
    )
    return measure_track(make_track(duration_s=11, **{side: arm}))


def chosen(candidates, table, confirm=None):
    return resolve(candidates, table, confirm).candidate


def both_sides(name):
    return tuple(Candidate(load_exercise(name), side) for side in ("left", "right"))


def test_a_name_settles_it_without_a_look_at_the_clip():
    (only,) = candidates_for("elbow-curl", side="left")
    found = resolve((only,), None)
    assert found.candidate is only
    assert found.guess is None
    with pytest.raises(ExerciseError, match="did you mean"):
        candidates_for("elbow-crul")


def test_an_exercise_may_be_given_as_it_is_or_by_its_path(tmp_path):
    path = tmp_path / "slow-curl.toml"
    path.write_text('name = "slow-curl"\ntitle = "Slow curl"\nlike = "elbow-curl"\n')
    exercise = load_exercise(path)
    for given in (exercise, path, str(path)):
        assert [one.exercise for one in candidates_for(given)] == [exercise]


@pytest.mark.slow
def test_neighbours_are_refused_where_nobody_can_answer():
    with pytest.raises(UnrecognisedError, match=r"side-raise \d+%.*Name it with exercise"):
        resolve(candidates_for(), raising(22.0))


@pytest.mark.slow
def test_somebody_who_says_yes_settles_it_and_no_refuses():
    asked = []

    def answer(yes):
        def confirm(best, candidate, alike):
            asked.append((best.exercise.name, candidate, alike))
            return yes

        return confirm

    found = chosen(candidates_for(), raising(2.0), answer(True))
    assert found.exercise.name == "side-raise"
    assert asked == [("side-raise", found, (found,))]
    with pytest.raises(UnrecognisedError):
        resolve(candidates_for(), raising(2.0), answer(False))


@pytest.mark.slow
@pytest.mark.parametrize("side", ["left", "right"])
def test_of_one_exercise_for_each_side_the_side_is_found(side):
    found = resolve(both_sides("side-raise"), raising(2.0, side))
    assert found.candidate.side == found.guess.side == side


def test_a_clip_without_a_movement_is_refused():
    still = measure_track(make_track(duration_s=5))
    for confirm in (None, lambda *_: True):
        with pytest.raises(UnrecognisedError, match="none is seen"):
            resolve(both_sides("side-raise"), still, confirm)


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
        return candidates_for(programme=load_programme(path))

    return options


@pytest.mark.slow
def test_a_variant_in_the_programme_that_looks_the_same_is_named_and_not_passed_over(prescribed):
    with pytest.raises(UnrecognisedError, match="side-raise or raise-with-a-can") as refused:
        resolve(prescribed("right"), raising(2.0))
    assert "Name it" in str(refused.value)


@pytest.mark.slow
def test_a_variant_for_the_other_arm_is_meant_where_that_arm_works(prescribed):
    for side, name in (("right", "side-raise"), ("left", "raise-with-a-can")):
        assert chosen(prescribed("left"), raising(2.0, side)).exercise.name == name


def test_somebody_may_choose_between_exercises_that_look_the_same(prescribed):
    def with_a_can(best, candidate, alike):
        assert {one.exercise.name for one in alike} == {"side-raise", "raise-with-a-can"}
        return candidate.exercise.name == "raise-with-a-can"

    found = chosen(prescribed("right"), raising(2.0), with_a_can)
    assert found.exercise.name == "raise-with-a-can"


def test_of_the_whole_library_the_exercise_itself_stands_for_its_variants(monkeypatch):
    best = Guess(load_exercise("scaption-raise"), "right", 0.9)
    monkeypatch.setattr(selection, "recognise", lambda table, exercises: (best,))
    assert resolve(candidates_for(), None).candidate.exercise.name == "scaption-raise"


def test_what_is_not_prescribed_is_refused_with_what_is(prescribed, tmp_path):
    prescribed("left")
    path = str(tmp_path / "programme.toml")
    assert len(candidates_for(programme=path)) == 3
    (curl,) = candidates_for("elbow-curl", programme=path)
    assert curl.prescription.client == "heron"
    with pytest.raises(
        UsageError, match="belly-press: not in this programme, which has side-raise"
    ):
        candidates_for("belly-press", programme=path)
    with pytest.raises(UsageError, match="elbow-curl side left"):
        candidates_for("elbow-curl", side="left", programme=path)
