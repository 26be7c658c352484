"""From exact synthetic motion to findings, scores, dose and cues."""

from dataclasses import replace

import pytest

from formcheck.catalogue.codes import Importance, Message, ReasonCode
from formcheck.catalogue.quantity import Quantity
from formcheck.checks.cues import choose_cues
from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps, score_findings, summarise
from formcheck.checks.result import JudgedRep, NotMeasured, RepCount
from formcheck.checks.statistics import Reading
from formcheck.checks.verdict import judge
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.types import Rep
from tests.synthetic import Arm, constant, cycles, make_track

COARSE = Message(ReasonCode.TOO_COARSE, {"sd": 12.0, "unit": "deg"})
HIDDEN = Message(ReasonCode.ARM_HIDDEN)
STARTS = [2.0, 7.0, 12.0, 17.0, 22.0]


def side_raise(top=110.0, up_s=2.0, starts=STARTS):
    return Arm(
        elevation=cycles(starts, 8, top, up_s=up_s, top_s=0.5, down_s=up_s), plane=constant(0.0)
    )


def judged(exercise, **figure):
    table = measure_track(make_track(duration_s=28, **figure))
    sides = working_sides(table, exercise)
    return judge_reps(table, exercise, find_reps(table, exercise, sides)), sides


@pytest.fixture(scope="module")
def exercise():
    return load_exercise("side-raise")


def verdicts(reps, check_id):
    return [f.verdict for rep in reps for f in rep.findings if f.id == check_id]


@pytest.mark.slow
def test_a_right_performance_raises_no_outside(exercise):
    reps, sides = judged(exercise, right=side_raise())
    assert sides == ("right",)
    assert len(reps) == 5
    assert "outside" not in {f.verdict for rep in reps for f in rep.findings}


@pytest.mark.slow
def test_half_range_is_outside_in_every_repetition_and_becomes_a_cue(exercise):
    reps, _ = judged(exercise, right=side_raise(top=55))
    assert verdicts(reps, "height") == ["outside"] * 5
    assert summarise(exercise, reps).cues[0].check_id == "height"


@pytest.mark.slow
def test_a_leaning_trunk_is_outside_at_the_top_and_dated_there(exercise):
    lean = cycles(STARTS, 0.0, 16.0, up_s=2.0, top_s=0.5, down_s=2.0)
    reps, _ = judged(exercise, right=side_raise(), lean_left_deg=lean)
    assert verdicts(reps, "lean") == ["outside"] * 5
    for rep in reps:
        at_s = next(f.at_s for f in rep.findings if f.id == "lean")
        assert rep.rep.top_start_s - 0.5 <= at_s <= rep.rep.top_end_s + 0.5


@pytest.mark.slow
def test_hurrying_is_outside(exercise):
    reps, _ = judged(exercise, right=side_raise(up_s=0.6))
    assert verdicts(reps, "tempo") == ["outside"] * 5


@pytest.mark.slow
def test_what_both_arms_do_at_once_is_counted_once(exercise):
    reps, sides = judged(exercise, right=side_raise(), left=side_raise())
    assert sides == ("left", "right")
    dose = count_dose(exercise, reps, sides)
    assert dose.counted.by_side == {"both": RepCount(5)}


@pytest.mark.slow
def test_the_arm_that_rests_is_not_taken_for_the_working_one(exercise):
    _, sides = judged(exercise, left=side_raise())
    assert sides == ("left",)


@pytest.mark.slow
def test_nothing_done_gives_nothing_to_judge(exercise):
    reps, sides = judged(exercise)
    assert reps == ()
    assert sides == ()
    assert summarise(exercise, reps).score is None
    assert count_dose(exercise, reps, sides).met is False


@pytest.mark.slow
def test_score_is_shared_out_by_weight_over_what_could_be_measured(exercise):
    reps, _ = judged(exercise, right=side_raise(top=55))
    findings = reps[0].findings
    found = score_findings(exercise.checks, findings)
    assert found.score == reps[0].score
    assert 0 < found.score < 100
    assert 0 < found.coverage <= 1


def finding(check, probability):
    verdict = "not-measurable" if probability is None else "borderline"
    plain = judge(check, Reading(None, None, None, "deg", HIDDEN))
    return replace(plain, verdict=verdict, probability_outside=probability)


def test_score_is_the_expected_share_of_what_was_done_as_prescribed(exercise):
    """Checks of one measure err together, those of several by themselves."""
    height = next(check for check in exercise.checks if check.id == "height")
    tempo = next(check for check in exercise.checks if check.id == "tempo")
    twin = height.model_copy(update={"id": "twin"})
    sure = score_findings([height], [finding(height, 0.0)])
    doubtful = score_findings([height], [finding(height, 0.2)])
    together = score_findings([height, twin], [finding(height, 0.2), finding(twin, 0.2)])
    apart = score_findings([height, tempo], [finding(height, 0.2), finding(tempo, 0.2)])
    assert (sure.score, sure.uncertainty) == (100, 0.0)
    assert (doubtful.score, doubtful.uncertainty) == (80, 40.0)
    assert (together.score, together.uncertainty) == (80, 40.0)
    assert apart.score == 80
    assert apart.uncertainty < 40.0


def test_there_is_no_score_where_too_little_or_not_what_makes_the_exercise_was_measured(exercise):
    height = next(check for check in exercise.checks if check.id == "height")
    other = height.model_copy(update={"id": "other", "essential": False})
    half = [finding(height, 0.0), finding(other, None)]
    assert score_findings([height, other], half).score == 100
    strict = exercise.decision.model_copy(update={"scored_from": 0.6})
    assert score_findings([height, other], half, strict).score is None
    heart = [half[0], replace(half[1], essential=True)]
    assert score_findings([height, other], heart).score is None


@pytest.mark.slow
def test_the_mean_of_a_set_is_no_surer_than_its_repetitions(exercise):
    reps, _ = judged(exercise, right=side_raise(top=82))
    one, many = summarise(exercise, reps[:1]), summarise(exercise, reps)
    assert many.score_uncertainty == pytest.approx(one.score_uncertainty, rel=0.5)
    assert many.score_uncertainty > 0


@pytest.mark.slow
def test_at_most_two_cues(exercise):
    lean = cycles(STARTS, 0.0, 16.0, up_s=0.6, top_s=0.5, down_s=0.6)
    reps, _ = judged(exercise, right=side_raise(top=55, up_s=0.6), lean_left_deg=lean)
    cues = summarise(exercise, reps).cues
    assert len(cues) == 2
    assert cues[0].check_id == "lean"  # position before range and tempo


@pytest.mark.slow
@pytest.mark.parametrize(("probability", "told"), [(0.3, []), (0.6, []), (0.7, ["elbow"])])
def test_a_doubtful_finding_is_told_as_doubtful_and_only_if_wrong_is_likelier_than_right(
    exercise, probability, told
):
    reps, _ = judged(exercise, right=side_raise())
    reps = [
        replace(
            rep,
            findings=tuple(
                replace(f, verdict="borderline", probability_outside=probability)
                if f.id == "elbow"
                else replace(f, verdict="within")
                for f in rep.findings
            ),
        )
        for rep in reps
    ]
    cues = summarise(exercise, reps).cues
    assert [cue.check_id for cue in cues] == told
    assert not any(cue.certain for cue in cues)


@pytest.mark.slow
def test_dose_is_met_by_the_prescribed_number_and_not_by_one_less(exercise):
    reps, sides = judged(exercise, right=side_raise())
    enough = exercise.model_copy(update={"dose": exercise.dose.model_copy(update={"count": 5})})
    more = exercise.model_copy(update={"dose": exercise.dose.model_copy(update={"count": 6})})
    assert count_dose(enough, reps, sides).met is True
    assert count_dose(more, reps, sides).met is False


@pytest.mark.parametrize(
    ("held_s", "met"),
    [
        ([6.0, 5.2, 8.0], True),
        ([6.0, 5.2, 8.0, 2.0], True),  # one more that is short undoes nothing
        ([6.0, 5.2, 4.3], None),  # 0.2 s short of long enough, which is known to 0.2 s
        ([6.0, 5.2, 3.0], False),
    ],
)
def test_a_dose_of_holds_is_met_by_as_many_as_were_long_enough(held_s, met):
    press = load_exercise("belly-press")
    dose = press.dose.model_copy(update={"count": 3, "hold_s": 5.0})
    reps = [
        JudgedRep(
            Rep(k, "hold", "right", False, 10.0 * k, 10.0 * k, 10.0 * k + s, 10.0 * k + s, hold_s=s,
                measures={"hold": Quantity(s, 0.2, "s")}),
            None, 0.0, (),
        )
        for k, s in enumerate(held_s)
    ]  # fmt: skip
    assert count_dose(press.model_copy(update={"dose": dose}), reps, ["right"]).met is met


@pytest.mark.slow
def test_one_fault_is_one_cue_though_two_checks_find_it(exercise):
    height = next(check for check in exercise.checks if check.id == "height")
    limit = height.model_copy(
        update={
            "id": "never",
            "low": None,
            "high": 60.0,
            "tolerance": 0.0,
            "importance": Importance.SAFETY,
        }
    )
    lower = height.model_copy(update={"low": 20.0, "high": 50.0})
    checks = (lower, limit, *(c for c in exercise.checks if c.id not in ("height", "plane")))
    strict = exercise.model_copy(update={"checks": checks})
    reps, _ = judged(strict, right=side_raise(top=110))
    assert [cue.check_id for cue in summarise(strict, reps).cues] == ["never"]


def test_one_fault_in_each_of_two_parts_is_two_cues():
    cycle = load_exercise("press-and-hold-cycle")
    parts = [part for part in cycle.parts if any(c.id == "elbow" for c in part.checks)][:2]
    reps = []
    for k, part in enumerate(parts):
        check = next(c for c in part.checks if c.id == "elbow")
        found = judge(check, Reading(170.0, 2.0, 1.0, "deg"))
        rep = Rep(k, "hold", "right", False, 10.0 * k, 10.0 * k, 8.0, 8.0, part=part.name)
        reps.append(JudgedRep(rep, None, 1.0, (found,)))
    told = [cue.sentence for cue in choose_cues(cycle, reps, {})]
    assert len(told) == len({c.cue for part in parts for c in part.checks if c.id == "elbow"}) == 2


def test_a_short_hold_in_one_round_more_undoes_no_dose():
    cycle = load_exercise("press-and-hold-cycle")
    dose = cycle.dose.model_copy(update={"count": 1})
    names = [part.name for part in cycle.parts] * 2
    held_s = [6.0] * (len(names) - 1) + [2.0]
    reps = [
        JudgedRep(
            Rep(k, "hold", "right", False, 10.0 * k, 10.0 * k, 10.0 * k + s, 10.0 * k + s, hold_s=s,
                measures={"hold": Quantity(s, 0.2, "s")}, part=name),
            None, 0.0, (),
        )
        for k, (name, s) in enumerate(zip(names, held_s, strict=True))
    ]  # fmt: skip
    once = count_dose(cycle.model_copy(update={"dose": dose}), reps, ["right"])
    twice = count_dose(
        cycle.model_copy(update={"dose": dose.model_copy(update={"count": 2})}), reps, ["right"]
    )
    assert (once.met, twice.met) == (True, False)
    assert once.counted.long_enough == len(names) - 1


@pytest.mark.slow
def test_a_cue_counts_the_repetitions_that_went_the_same_way(exercise):
    exercise = exercise.model_copy(
        update={
            "checks": tuple(
                c.model_copy(update={"cue_above": "Lower.", "cue_below": "Higher."})
                if c.id == "height"
                else c
                for c in exercise.checks
            )
        }
    )
    reps, _ = judged(exercise, right=side_raise(top=40))
    over = tuple(
        replace(f, cue="Lower.", margin=-2.0) if f.id == "height" else f for f in reps[0].findings
    )
    cue = summarise(exercise, [replace(reps[0], findings=over), *reps[1:]]).cues[0]
    assert (cue.sentence, cue.times_seen) == ("Higher.", 4)


@pytest.mark.slow
def test_a_doubtful_cue_counts_every_repetition_that_is_marked_as_perhaps_not_on_target(exercise):
    reps, _ = judged(exercise, right=side_raise(top=40))
    chances = (0.8, 0.7, 0.7, 0.55, 0.3)
    doubtful = [
        replace(
            rep,
            findings=tuple(
                replace(f, verdict="borderline", probability_outside=chance)
                for f in rep.findings
                if f.id == "height"
            ),
        )
        for rep, chance in zip(reps, chances, strict=True)
    ]
    (cue,) = summarise(exercise, doubtful).cues
    assert (cue.certain, cue.times_seen) == (False, 4)


@pytest.mark.slow
def test_mirroring_changes_no_verdict(exercise):
    plain, _ = judged(exercise, right=side_raise(top=85))
    mirrored, _ = judged(exercise, left=side_raise(top=85))
    for a, b in zip(plain, mirrored, strict=True):
        assert [f.verdict for f in a.findings] == [f.verdict for f in b.findings]


@pytest.mark.slow
def test_distance_turns_no_right_into_wrong(exercise):
    plain, _ = judged(exercise, right=side_raise(top=85))
    far, _ = judged(exercise, right=side_raise(top=85), scale=0.5)
    for a, b in zip(plain, far, strict=True):
        for f, g in zip(a.findings, b.findings, strict=True):
            assert {f.verdict, g.verdict} != {"within", "outside"}


@pytest.mark.slow
def test_what_was_not_measured_is_told_with_its_reason_and_a_way_out_if_there_is_one(exercise):
    reps, _ = judged(exercise, right=side_raise())
    unsure = [
        replace(
            rep,
            findings=tuple(
                replace(f, verdict="not-measurable", reason=COARSE) for f in rep.findings
            ),
        )
        for rep in reps
    ]
    told = summarise(
        exercise, unsure, lambda check: "back" if check.id == "lean" else None
    ).not_measured
    assert len(told) == len(exercise.checks)
    titles = {check.id: check.title for check in exercise.checks}
    assert NotMeasured("lean", None, COARSE, "back", titles["lean"]) in told
    assert NotMeasured("height", None, COARSE, None, titles["height"]) in told


def test_what_was_not_measured_of_one_part_is_told_as_of_that_part():
    cycle = load_exercise("press-and-hold-cycle")
    part = cycle.parts[0]
    rep = Rep(1, "hold", "right", False, 0.0, 1.0, 7.0, 8.0, part=part.name)
    nothing = tuple(judge(one, Reading(None, None, None, "deg", HIDDEN)) for one in part.checks)
    (first, *_) = summarise(cycle, [JudgedRep(rep, None, 0.0, nothing)]).not_measured
    assert (first.part, first.reason) == (part.name, HIDDEN)


@pytest.mark.slow
def test_a_measure_at_fault_is_not_praised_from_its_other_side(exercise):
    """Two checks of one measure: the one that passes says nothing while the other fails."""
    height = next(check for check in exercise.checks if check.id == "height")
    twin = height.model_copy(
        update={"id": "not-above", "low": None, "high": 170.0, "importance": Importance.SAFETY}
    )
    both = exercise.model_copy(update={"checks": (twin, *exercise.checks)})
    reps, _ = judged(both, right=side_raise(top=40))
    assert verdicts(reps, "not-above") == ["within"] * 5
    assert summarise(both, reps).praise != twin.praise


@pytest.mark.slow
@pytest.mark.parametrize(("verdict", "praised"), [("borderline", False), ("within", True)])
def test_only_what_surely_passed_is_praised(exercise, verdict, praised):
    reps, _ = judged(exercise, right=side_raise())
    reps = [
        replace(rep, findings=tuple(replace(f, verdict=verdict) for f in rep.findings))
        for rep in reps
    ]
    assert (summarise(exercise, reps).praise is not None) == praised


@pytest.mark.slow
@pytest.mark.parametrize(
    ("value", "reason", "elsewhere", "anew"),
    [
        (12.0, COARSE, None, False),  # as sure as a camera gets
        (12.0, COARSE, "side", True),
        (None, Message(ReasonCode.TRUNK_NOT_SEEN), None, True),  # more of the body in the picture
        (None, Message(ReasonCode.NOT_UPRIGHT), "side", False),
        (None, Message(ReasonCode.HEAD_RESTS), "side", False),
    ],
)
def test_filming_anew_is_advised_only_where_it_can_help(exercise, value, reason, elsewhere, anew):
    reps, _ = judged(exercise, right=side_raise())
    reps = [
        replace(
            rep,
            findings=tuple(
                replace(f, verdict="not-measurable", value=value, reason=reason)
                for f in rep.findings
            ),
        )
        for rep in reps
    ]
    summary = summarise(exercise, reps, lambda check: elsewhere)
    assert summary.film_anew == anew
    said = any(one.better_view for one in summary.not_measured)
    assert said == (anew and elsewhere is not None)


@pytest.mark.slow
def test_what_the_end_of_the_clip_cut_off_is_no_fault_and_what_was_seen_still_is(exercise):
    lean = cycles(STARTS, 0.0, 30.0, up_s=2.0, top_s=0.5, down_s=2.0)
    figure = make_track(duration_s=STARTS[2] + 1.2, right=side_raise(), lean_left_deg=lean)
    table = measure_track(figure)
    reps = judge_reps(table, exercise, find_reps(table, exercise, ("right",)))
    assert [rep.rep.partial for rep in reps] == [False, False, True]
    last = {finding.id: finding for finding in reps[-1].findings}
    for check in ("height", "tempo"):
        assert last[check].verdict == "not-measurable"
        assert last[check].reason == Message(ReasonCode.NOT_WHOLE)
    assert last["lean"].verdict == "outside"
