"""A programme takes exercises from the library and says what differs for one client."""

import pytest

from formcheck.errors import ExerciseError
from formcheck.exercises.client_limits import PRESCRIBED
from formcheck.exercises.differences import Change
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import load_programme, usual_order

PLAN = """
client = "heron"
phase = "weeks 3 to 5"

[[items]]
exercise = "belly-press"
side = "right"
[items.dose]
count = 4
hold_s = 8

[[items]]
exercise = "bear-hug-press"
side = "right"
after_sessions = 2

[[items]]
exercise = "scaption-raise"
side = "right"
note = "Only as high as a shelf."
[[items.checks]]
id = "height"
low = 70
[[items.limits]]
measure = "shoulder_elevation"
never_above = 90
"""


@pytest.fixture
def plan(write):
    def load(old: str = "", new: str = ""):
        return load_programme(write(PLAN, old=old, new=new, name="plan.toml"))

    return load


def problems(plan, old: str, new: str) -> list[str]:
    with pytest.raises(ExerciseError) as caught:
        plan(old, new)
    return [line.partition("plan.toml: ")[2] for line in str(caught.value).splitlines()]


def test_a_programme_gives_the_exercises_as_prescribed(plan):
    programme = plan()
    assert (programme.client, programme.phase) == ("heron", "weeks 3 to 5")
    press, _, raising = programme.prescriptions
    assert (press.exercise.dose.count, press.exercise.dose.hold_s) == (4, 8)
    assert press.exercise.dose.source == PRESCRIBED
    assert press.exercise.checks[0].low == 8
    assert raising.exercise.checks[0].low == 70
    assert raising.note == "Only as high as a shelf."


def test_a_limit_is_a_safety_check_without_tolerance(plan):
    limit = plan().prescriptions[2].exercise.checks[-1]
    assert (limit.id, limit.measure) == ("never-above-shoulder-elevation", "shoulder_elevation")
    assert (limit.statistic, limit.low, limit.high, limit.tolerance) == ("max", None, 90, 0)
    assert limit.importance == "safety"


def test_what_was_changed_for_the_client_is_listed(plan):
    press, hug, raising = plan().prescriptions
    assert press.changes == (
        Change("dose.count", "3", "4"),
        Change("dose.hold_s", "5.0", "8.0"),
        Change('checks "hold".low', "5.0", "8.0"),
    )
    assert hug.changes == ()
    assert Change('checks "height".low', "90.0", "70.0") in raising.changes
    assert any(
        c.key.startswith('checks "never-above') and c.before is None for c in raising.changes
    )


def test_exercises_join_after_their_sessions(plan):
    programme = plan()
    names = [[p.exercise.name for p in programme.due(done)] for done in (0, 1, 2)]
    assert names[0] == names[1] == ["belly-press", "scaption-raise"]
    assert names[2] == ["belly-press", "bear-hug-press", "scaption-raise"]


def test_the_usual_order_brings_no_advice(plan):
    assert plan().advice == ()


def test_departing_from_the_usual_order_brings_advice_and_no_error(plan):
    assert plan("after_sessions = 2", "").advice == (
        "bear-hug-press usually comes after 1 session of belly-press; here it comes at the same time",
    )
    late = plan('exercise = "belly-press"', 'exercise = "belly-press"\nafter_sessions = 3').advice
    assert late == (
        "bear-hug-press usually comes after 1 session of belly-press; here it comes 1 session "
        "before it",
    )
    (line,) = plan('"belly-press"', '"lift-off"').advice[:1]
    assert line.endswith("belly-press, which is not in this programme")


def test_reasons_to_leave_an_exercise_out_are_at_hand(plan):
    lift_off = plan('"bear-hug-press"', '"lift-off"').prescriptions[1]
    assert len(lift_off.leave_out_if) == 1


def test_a_programme_can_have_rules_of_its_own(plan):
    rule = (
        '[[order]]\nexercise = "scaption-raise"\nafter = "belly-press"\nsessions = 3\n'
        'source = "our clinic"\n[[items]]'
    )
    assert len(plan("[[items]]", rule).advice) == 1


@pytest.mark.parametrize("rule", usual_order(), ids=lambda rule: rule.exercise)
def test_the_usual_order_speaks_of_library_exercises(rule):
    assert {rule.exercise, rule.after} <= set(library_names())
    assert rule.source.startswith("common practice, no source")


@pytest.mark.parametrize("rule", usual_order(), ids=lambda rule: rule.exercise)
def test_loaded_forms_come_after_unloaded_ones(rule):
    if load_exercise(rule.exercise).load in ("band", "weight"):
        assert load_exercise(rule.after).load == "none"


def test_easier_positions_come_first():
    order = {(rule.after, rule.exercise) for rule in usual_order()}
    assert ("push-up-plus-wall", "push-up-plus-knees") in order
    assert ("push-up-plus-knees", "push-up-plus") in order
    assert ("bent-elbow-circle-lying", "bent-elbow-circle") in order


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('"belly-press"', '"bely-press"', 'did you mean "belly-press"?'),
        (
            "hold_s = 8",
            "holds = 8",
            'items "belly-press": dose.holds = 8: unknown key; did you mean',
        ),
        ("count = 4", "count = 400", "dose.count = 400: must be a whole number from 1 to 100"),
        (
            'id = "height"',
            'id = "hight"',
            'there is no such check to change; did you mean "height"?',
        ),
        ("low = 70", "lo = 70", 'checks "height".lo = 70: unknown key; did you mean "low"?'),
        ('side = "right"', 'side = "rigth"', 'side = "rigth": did you mean "right"?'),
        ("after_sessions", "after_session", 'unknown key; did you mean "after_sessions"?'),
        ("never_above = 90", "", "give never_above, never_below or both"),
        ('client = "heron"', "", "client: is missing"),
        ('"belly-press"', '"push-up-plus"', 'both arms work together in push-up-plus; give "both"'),
        (
            "_above = 90",
            "_above = 60",
            'check "height" asks for at least 70; change that check too',
        ),
        ("_above = 90", "_above = 70", "change that check too"),
        ("_above = 90", "_above = 900", "never_above = 900: must be from 0 to 180"),
        ("_above = 90", "_above = 90\nnever_below = 90", "leaves nothing under never_above 90"),
        (
            "_above = 90",
            '_above = 90\n[[items.limits]]\nmeasure = "shoulder_elevation"\nnever_above = 120',
            "limits used twice: shoulder_elevation.never_above",
        ),
        (
            "low = 70",
            'low = 70\n[[items.checks]]\nid = "height"\nlow = 60',
            'checks "height": stands there twice',
        ),
        ('"belly-press"', '"scaption-raise"', "stands there twice"),
        ("hold_s = 8", "tempo_s = [3, 1]", "dose.tempo_s 3: is missing; give a number"),
        ("hold_s = 8", "tempo_s = 3", "dose.tempo_s = 3: must be a list of 3 numbers"),
    ],
)
def test_a_slip_in_a_programme_is_named_with_its_place_and_remedy(plan, old, new, expected):
    found = problems(plan, old, new)
    assert any(expected in line for line in found), found


def test_a_slip_deep_in_a_list_is_no_short_list(plan):
    assert len(problems(plan, "never_above = 90", "")) == 1


AGREED = "Arm height: keep to what was agreed with you."


@pytest.mark.parametrize(
    ("change", "value", "told"),
    [
        ("low = 70", 50, AGREED),
        ("low = 70\nhigh = 85", 130, AGREED),
        ("low = 70\nhigh = 85\ncue = 'To the shelf.'", 130, "To the shelf."),
        ("low = 70\ncue_below = 'To the shelf.'", 50, "To the shelf."),
        ("tolerance = 5\nlow = 70", 50, AGREED),
    ],
)
def test_nobody_is_told_to_go_where_the_library_goes_and_the_programme_does_not(
    plan, change, value, told
):
    height = plan("low = 70", change).prescriptions[2].exercise.checks[0]
    assert (height.id, height.cue_for(value)) == ("height", told)


def test_praise_for_a_changed_target_is_no_praise_for_the_librarys(plan):
    exercise = plan().prescriptions[2].exercise
    library = load_exercise("scaption-raise")
    assert exercise.checks[0].praise == "Arm height: as was agreed with you, every time."
    assert exercise.checks[1] == library.checks[1]


@pytest.mark.parametrize(
    ("name", "measure", "check"),
    [("overhead-press", "shoulder_elevation", "height"), ("elbow-curl", "elbow_flexion", "bend")],
)
def test_the_librarys_words_lead_nobody_past_a_limit(write, name, measure, check):
    side = "both" if load_exercise(name).arms == "both" else "right"
    text = f"""
        client = "heron"
        phase = "week 1"
        [[items]]
        exercise = "{name}"
        side = "{side}"
        [[items.limits]]
        measure = "{measure}"
        never_above = 165
    """
    (prescription,) = load_programme(write(text, name="plan.toml")).prescriptions
    (told,) = (one for one in prescription.exercise.checks if one.id == check)
    assert told.cue.endswith("keep to what was agreed with you.")


def test_a_limit_that_a_part_of_a_round_must_pass_is_refused(write):
    text = PLAN.replace('"belly-press"', '"press-and-hold-cycle"').replace(
        "hold_s = 8", '[[items.limits]]\nmeasure = "shoulder_elevation"\nnever_above = 60'
    )
    with pytest.raises(ExerciseError, match="asks for at least 80; change that check too"):
        load_programme(write(text, name="plan.toml"))


def test_slips_in_the_plan_and_in_its_overrides_come_at_once(write):
    text = PLAN.replace('phase = "weeks 3 to 5"', "").replace("hold_s = 8", "holds = 8")
    with pytest.raises(ExerciseError) as caught:
        load_programme(write(text))
    assert len(str(caught.value).splitlines()) == 2


def test_an_exercise_file_beside_the_programme_is_found(write, good):
    write(good, name="own.toml")
    path = write(PLAN, old='"belly-press"', new='"own.toml"', name="plan.toml")
    with pytest.raises(ExerciseError, match=r'dose\.hold_s = 8: only for movement = "hold"'):
        load_programme(path)
    write(
        good.replace('"rep"', '"hold"').replace("count = 8", "count = 8\nhold_s = 5"),
        name="own.toml",
    )
    assert load_programme(path).prescriptions[0].exercise.name == "reach-up"


def test_a_missing_programme_says_so(tmp_path):
    with pytest.raises(ExerciseError, match="there is no such file"):
        load_programme(tmp_path / "none.toml")


def limit_of(prescription):
    return [check.high for check in prescription.exercise.checks if check.safety_limit]


COMMON = '[[limits]]\nmeasure = "shoulder_elevation"\nnever_above = 95\n\n[[items]]'


def test_a_limit_at_the_top_holds_for_every_item_and_the_tighter_one_counts(write):
    programme = load_programme(write(PLAN.replace("[[items]]", COMMON, 1), name="plan.toml"))
    assert [limit_of(one) for one in programme.prescriptions] == [[95], [95], [90]]


def test_a_limit_that_some_items_lack_is_warned_of(plan):
    (line,) = plan().warnings
    assert "shoulder_elevation.never_above: belly-press none" in line
    assert "scaption-raise 90" in line


def test_a_programme_can_ask_for_surer_verdicts(plan):
    own = plan("[items.dose]", "[items.decision]\nwithin_to = 0.05\n[items.dose]")
    first, second, _ = own.prescriptions
    assert first.exercise.decision.within_to == 0.05
    assert first.exercise.decision.outside_from == second.exercise.decision.outside_from
    assert second.exercise.decision.within_to == 0.1


PHASES = """
client = "wren"
stature_cm = 164
pain_at_most = 4

[[limits]]
measure = "shoulder_elevation"
never_above = 120

[[phases]]
name = "positions"
[[phases.items]]
exercise = "belly-press"
side = "right"

[[phases]]
name = "loaded"
[phases.enter]
days = 4
share_within = 0.8
pain_during_at_most = 3
settled_by_morning = true
[[phases.items]]
exercise = "bear-hug-press"
side = "right"
load = "red band"
"""


@pytest.fixture
def phased(write):
    def load(old: str = "", new: str = ""):
        return load_programme(write(PHASES, old=old, new=new, name="plan.toml"))

    return load


def test_a_programme_has_phases_and_what_holds_for_all_of_them(phased):
    programme = phased()
    assert [phase.name for phase in programme.phases] == ["positions", "loaded"]
    assert (programme.stature_cm, programme.pain_at_most) == (164, 4)
    for phase in programme.phases:
        (one,) = phase.prescriptions
        assert (one.phase, one.stature_cm) == (phase.name, 164)
        assert [check.high for check in one.exercise.checks if check.safety_limit] == [120]
    assert programme.phases[0].enter is None
    enter = programme.phases[1].enter
    assert (enter.days, enter.share_within, enter.pain_during_at_most) == (4, 0.8, 3)
    assert (enter.no_limit_passed, enter.settled_by_morning) == (True, True)


def test_a_programme_is_in_its_first_phase_until_another_is_chosen(phased):
    programme = phased()
    assert [p.exercise.name for p in programme.prescriptions] == ["belly-press"]
    loaded = programme.in_phase("Loaded")
    assert loaded.phase == "loaded"
    assert [p.load for p in loaded.prescriptions] == ["red band"]
    with pytest.raises(ExerciseError, match='has no phase "third"'):
        programme.in_phase("third")
    with pytest.raises(ExerciseError, match="several phases; say which"):
        programme.in_phase(None)


def test_a_programme_of_one_phase_needs_no_choice(plan):
    programme = plan()
    assert programme.in_phase(None) == programme
    assert [phase.name for phase in programme.phases] == ["weeks 3 to 5"]


def test_in_a_phase_only_its_own_departures_from_the_usual_order_are_told(phased):
    programme = phased('"belly-press"', '"scaption-raise"')
    (line,) = [line for line in programme.advice if line.startswith("bear-hug-press")]
    assert line in programme.in_phase("loaded").advice
    assert line not in programme.in_phase("positions").advice


def test_what_an_earlier_phase_had_comes_before(phased):
    assert phased().advice == ()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('name = "loaded"', 'name = "positions"', "positions"),
        ('client = "wren"', 'client = "wren"\nphase = "one"', "not both"),
        ("days = 4", "days = -1", "days"),
        ("share_within = 0.8", "share_within = 80", "share_within"),
        ("days = 4", "day = 4", 'did you mean "days"'),
        ("stature_cm = 164", "stature_cm = 1.64", "stature_cm"),
        ('exercise = "bear-hug-press"', 'exercise = "bear-hug-pres"', "bear-hug-press"),
        ('name = "positions"', 'name = "positions"\nenter = { days = 1 }', "first phase"),
    ],
)
def test_what_is_wrong_with_phases_is_told(phased, old, new, told):
    with pytest.raises(ExerciseError, match=told):
        phased(old, new)
