"""Compound sets that hold circles: parts named, circles counted, what is short or left out named."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.checks.cues import choose_cues, not_measured
from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps, summarise
from formcheck.checks.rounds import round_cues, round_messages, rounds_by_side
from formcheck.exercises.consistency import contradictions
from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Part, Place
from formcheck.measures.measure import measure_track
from formcheck.movements.rounds import ShortPart, rounds_of
from formcheck.movements.segment import find_reps
from formcheck.words.words import words_for
from tests.synthetic import Arm, make_track, smooth_step
from tests.synthetic_sets import circling, press_cycle

pytestmark = pytest.mark.slow

CURVES = ("elevation", "plane", "rotation", "elbow")


def circle_part(way):
    circles = load_exercise("bent-elbow-circle")
    return Part(
        name=f"circles-{way}",
        title=f"Circles {way}",
        movement="circle",
        primary=circles.primary,
        recognise=(Place(measure="shoulder_elevation", low=30),),
        turn=way,
        count=3,
        checks=tuple(check for check in circles.checks if check.id != "lean"),
        missed=f"Draw your circles {way} in each round.",
    )


def exercise():
    """Press into the belly, three circles one way, three the other way, lift off the back."""
    cycle = load_exercise("press-and-hold-cycle")
    belly, _, low_back = cycle.parts
    parts = (belly, circle_part("backward"), circle_part("forward"), low_back)
    return cycle.model_copy(update={"name": "press-and-circle", "parts": parts})


def held(part):
    arm, duration, _ = press_cycle([part])
    return arm, duration


def circled(*turns):
    """Circles with the elbow bent on the way up and stretched on the way down again."""
    arm, duration, _ = circling(list(turns))

    def bent(t):
        return 90 * (smooth_step((t - 0.5) / 1.2) - smooth_step((t - duration + 2) / 1.2))

    return Arm(elevation=arm.elevation, plane=arm.plane, elbow=bent), duration


def one_after_the_other(*pieces):
    starts = np.concatenate(([0.0], np.cumsum([duration for _, duration in pieces])))

    def curve(name):
        def value(t):
            which = np.clip(np.searchsorted(starts, t, side="right") - 1, 0, len(pieces) - 1)
            values = [getattr(arm, name)(t - starts[k]) for k, (arm, _) in enumerate(pieces)]
            return np.choose(which, values)

        return value

    return Arm(**{name: curve(name) for name in CURVES}), float(starts[-1])


def found(*pieces, side="right"):
    arm, duration = one_after_the_other(*pieces)
    table = measure_track(make_track(duration_s=duration, yaw_deg=45, **{side: arm}))
    return table, find_reps(table, exercise(), (side,))


def names(reps):
    return [rep.part for rep in reps if not rep.partial]


BACK, FORTH = ["circles-backward"] * 3, ["circles-forward"] * 3


def test_the_exercise_contradicts_nothing():
    assert contradictions(exercise()) == []


@pytest.mark.parametrize("side", ["left", "right"])
def test_holds_and_circles_of_both_ways_are_parts_of_one_round(side):
    _, reps = found(held("belly"), circled(3, -3), held("low-back"), side=side)
    assert names(reps) == ["belly", *BACK, *FORTH, "low-back"]
    (one,) = rounds_of(exercise(), reps)
    assert (one.missing, one.short, one.in_order) == ((), (), True)


def test_two_rounds_are_two_and_circles_are_counted_in_each():
    _, reps = found(
        *(held("belly"), circled(3, -3), held("low-back")),
        *(held("belly"), circled(3, -3), held("low-back")),
    )
    assert names(reps) == ["belly", *BACK, *FORTH, "low-back"] * 2
    assert [one.missing for one in rounds_of(exercise(), reps)] == [(), ()]


def test_circles_left_out_are_named():
    _, reps = found(held("belly"), circled(3), held("low-back"))
    assert names(reps) == ["belly", *BACK, "low-back"]
    (one,) = rounds_of(exercise(), reps)
    assert one.missing == ("circles-forward",)


def test_too_few_circles_are_told_and_make_no_whole_round():
    table, reps = found(held("belly"), circled(3, -2), held("low-back"))
    judged = judge_reps(table, exercise(), reps)
    (one,) = rounds_of(exercise(), reps)
    assert one.short == (ShortPart("circles-forward", 2, 3),)
    (message,) = round_messages(exercise(), rounds_by_side(exercise(), judged))
    assert words_for("en").tell(message) == "Round 1: Circles forward: 2 of 3 circles."
    (count,) = count_dose(exercise(), judged, ("right",)).counted.by_rounds
    assert (count.whole, count.too_few) == (0, ({"circles-forward": 2},))


def test_the_client_is_asked_for_all_circles_where_they_stopped_too_soon():
    table, reps = found(held("belly"), circled(3, -2), held("low-back"))
    judged = judge_reps(table, exercise(), reps)
    cues = round_cues(exercise(), rounds_by_side(exercise(), judged))
    (cue,) = [one for one in cues if one.check_id == "short-circles-forward"]
    assert words_for("en").tell(cue.sentence) == (
        "Draw all 3 circles forward before you go on; here it was 2."
    )
    assert cue.at_s == [rep for rep in reps if rep.part == "circles-forward"][-1].end_s
    assert (cue.times_seen, cue.certain, cue.per_round) == (1, True, True)
    assert cue.check_id in {one.check_id for one in summarise(exercise(), judged).cues}


def test_whole_circles_bring_no_cue_for_more():
    table, reps = found(held("belly"), circled(3, -3), held("low-back"))
    judged = judge_reps(table, exercise(), reps)
    assert round_cues(exercise(), rounds_by_side(exercise(), judged)) == []


@pytest.mark.parametrize(
    ("turns", "missing", "short"),
    [
        ((3, -1), (), (ShortPart("circles-forward", 1, 3),)),
        ((1,), ("circles-forward",), (ShortPart("circles-backward", 1, 3),)),
        ((1, -1), (), (ShortPart("circles-backward", 1, 3), ShortPart("circles-forward", 1, 3))),
    ],
)
def test_one_circle_alone_is_too_few_and_not_left_out(turns, missing, short):
    _, reps = found(held("belly"), circled(*turns), held("low-back"))
    (one,) = rounds_of(exercise(), reps)
    assert (one.missing, one.short) == (missing, short)
    assert [rep.part for rep in reps if rep.kind == "hold"] == ["belly", "low-back"]


@pytest.mark.parametrize("yaw", [0, 45, 180])
def test_the_way_from_one_hold_to_the_next_is_no_circle(yaw):
    arm, duration, _ = press_cycle(["belly", "bear-hug", "low-back"] * 2, hang_between=False)
    table = measure_track(make_track(duration_s=duration, yaw_deg=yaw, right=arm))
    assert not any(rep.kind == "circle" for rep in find_reps(table, exercise(), ("right",)))


def test_circles_the_other_way_round_are_another_order():
    _, reps = found(held("belly"), circled(-3, 3), held("low-back"))
    assert names(reps) == ["belly", *FORTH, *BACK, "low-back"]
    (one,) = rounds_of(exercise(), reps)
    assert (one.missing, one.short, one.in_order) == ((), (), False)


def test_each_part_is_timed_and_judged_with_its_own_checks():
    pieces = held("belly"), circled(3, -3), held("low-back")
    table, reps = found(*pieces)
    judged = judge_reps(table, exercise(), reps)
    own = {part.name: {check.id for check in part.checks} for part in exercise().parts}
    assert all({f.id for f in one.findings} == own[one.rep.part] for one in judged)
    lead_s = pieces[0][1] + 3.0
    back = [rep for rep in reps if rep.part == "circles-backward"]
    for number, rep in enumerate(back):
        assert rep.start_s == pytest.approx(lead_s + number * 2.6, abs=0.4)
        assert rep.end_s == pytest.approx(lead_s + (number + 1) * 2.6, abs=0.4)
    assert [rep.hold_s for rep in reps if rep.kind == "hold"] == pytest.approx([4, 4], abs=0.35)


def test_circles_must_say_which_way_they_go():
    whole = exercise()
    either = whole.parts[1].model_copy(update={"turn": None})
    wrong = whole.model_copy(update={"parts": (whole.parts[0], either, whole.parts[3])})
    (message,) = contradictions(wrong)
    assert message.startswith('parts "circles-backward".turn: is missing; a part of circles goes')


def test_a_way_or_a_number_is_for_circles_only():
    cycle = load_exercise("press-and-hold-cycle")
    belly = cycle.parts[0].model_copy(update={"turn": "forward", "count": 3})
    wrong = cycle.model_copy(update={"parts": (belly, *cycle.parts[1:])})
    assert contradictions(wrong) == [
        'parts "belly".turn: only for movement = "circle", this one is "hold"',
        'parts "belly".count: only for movement = "circle", this one is "hold"',
    ]


def test_circles_of_both_ways_are_told_apart_in_words_though_their_titles_are_one():
    same = [
        replace_title(part, "Bent-elbow circles") if part.turn else part
        for part in exercise().parts
    ]
    alike = exercise().model_copy(update={"parts": tuple(same)})
    table, reps = found(held("belly"), circled(3, -2), held("low-back"))
    judged = judge_reps(table, alike, reps)
    (message,) = round_messages(alike, rounds_by_side(alike, judged))
    assert words_for("en").tell(message) == "Round 1: Bent-elbow circles forward: 2 of 3 circles."


def replace_title(part, title):
    return part.model_copy(update={"title": title})


def test_what_circles_of_both_ways_are_told_alike_is_said_once():
    table, reps = found(held("belly"), circled(3, -3), held("low-back"))
    hiked = [
        replace(judged, findings=tuple(as_outside(f) for f in judged.findings))
        for judged in judge_reps(table, exercise(), reps)
    ]
    cues = choose_cues(exercise(), hiked, {})
    (cue,) = [one for one in cues if one.check_id == "hike"]
    assert cue.times_seen == 6
    unseen = [
        replace(one, findings=tuple(replace(f, verdict="not-measurable") for f in one.findings))
        for one in hiked
    ]
    told, _ = not_measured(exercise(), unseen, lambda _: None)
    assert len(told) == len({(one.part, one.check_id) for one in told})


def as_outside(finding):
    """A hike in each circle, all else within."""
    return replace(finding, verdict="outside" if finding.cue == HIKE_CUE else "within")


HIKE_CUE = next(c.cue for c in load_exercise("bent-elbow-circle").checks if c.id == "hike")
