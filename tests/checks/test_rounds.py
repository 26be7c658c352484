"""What client and coach are told of a compound set."""

from dataclasses import replace

import pytest

from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps, summarise
from formcheck.checks.result import RoundCount
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps
from formcheck.words.words import words_for
from tests.synthetic import make_track
from tests.synthetic_sets import ROUND, press_cycle

pytestmark = pytest.mark.slow


def judged(parts):
    exercise = load_exercise("press-and-hold-cycle")
    arm, duration, holds = press_cycle(parts, hold_s=6.0)
    table = measure_track(make_track(duration_s=duration, right=arm, yaw_deg=45))
    reps = judge_reps(table, exercise, find_reps(table, exercise, ("right",)))
    return exercise, reps, holds


def told(summary):
    return [words_for("en").tell(message) for message in summary.rounds]


def test_two_whole_rounds_meet_a_dose_of_two_unless_no_lift_was_seen():
    exercise, reps, _ = judged(ROUND * 2)
    assert count_dose(exercise, reps, ("right",)).met is None
    lifted = [
        replace(
            one,
            findings=tuple(
                replace(finding, verdict="within") if finding.id == "lift" else finding
                for finding in one.findings
            ),
        )
        for one in reps
    ]
    dose = count_dose(exercise, lifted, ("right",))
    assert dose.counted.by_side == {
        "right": RoundCount(rounds=2, whole=2, left_out=((), ()), too_few=({}, {}))
    }
    assert dose.met is True
    assert summarise(exercise, reps).rounds == ()


def test_a_part_left_out_reaches_client_and_coach_at_the_end_of_its_round():
    exercise, reps, holds = judged(["belly", "bear-hug", "low-back", "belly", "low-back"])
    summary = summarise(exercise, reps)
    cue = next(cue for cue in summary.cues if cue.check_id == "missed-bear-hug")
    assert cue.sentence == exercise.parts[1].missed
    assert cue.certain
    assert holds[-1][1] <= cue.at_s <= holds[-1][1] + 2.5
    assert cue.rep_index == 5
    assert told(summary) == ["Round 2: Bear-hug press and hold was left out."]
    assert count_dose(exercise, reps, ("right",)).met is False


def test_what_may_only_not_have_been_recognised_is_not_called_left_out():
    exercise, reps, _ = judged(["belly", "low-back"])
    broken = replace(
        reps[0],
        rep=replace(
            reps[0].rep,
            part=None,
            partial=True,
            start_s=reps[0].rep.end_s,
            end_s=reps[1].rep.start_s,
        ),
    )
    summary = summarise(exercise, [reps[0], broken, reps[1]])
    assert "look whether it was done" in told(summary)[0]
    assert not next(c for c in summary.cues if c.check_id == "missed-bear-hug").certain
    assert count_dose(exercise, [reps[0], broken, reps[1]], ("right",)).met is None


def test_another_order_is_told_to_the_coach():
    exercise, reps, _ = judged(["bear-hug", "belly", "low-back"])
    (line,) = told(summarise(exercise, reps))
    assert line.startswith("Round 1: done in another order: Bear-hug")


def test_an_order_that_the_camera_cannot_tell_is_said_with_the_stills_to_look_at():
    exercise, reps, _ = judged(ROUND)
    belly, hug, low_back = (one.rep for one in reps)
    unclear = [
        replace(reps[0], rep=replace(belly, start_s=1.9, place_distances=(0.4, 9.0, 0.5))),
        replace(reps[1], rep=hug),
        replace(reps[2], rep=replace(low_back, start_s=63.2, place_distances=(0.5, 9.0, 0.4))),
    ]
    assert told(summarise(exercise, unclear)) == [
        "Round 1: the camera cannot tell the order of these: Belly press and hold, "
        "Lift-off behind the back. Look at the stills at 0:02 and 1:03.",
    ]
