"""What was agreed with a client is said once, in the words of the sheets."""

from dataclasses import replace

import pytest

from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.sheets.pages.prescribed import prescribed_for_client, prescribed_for_coach

PLAN = """
client = "heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "scaption-raise"
side = "right"
[[items.limits]]
measure = "shoulder_elevation"
never_above = 90
"""


def test_a_target_and_a_limit_of_one_measure_are_told_apart(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    (height,) = [c for c in load_exercise("scaption-raise").checks if c.id == "height"]
    lower = f'[[items.checks]]\nid = "height"\nlow = {height.low - 20:g}\n'
    path.write_text(PLAN + lower, "utf-8")
    (prescription,) = load_programme(path).prescriptions
    line = prescribed_for_client(
        replace(result, prescription=prescription), prescription.exercise, words
    )
    assert f"arm height at least {height.low - 20:g}°; Arm height limit at most 90°" in line


@pytest.mark.parametrize("border", [0.5, 1.5, 2.5, 7.5, 12.4, 90])
def test_a_border_stands_on_both_pages_as_it_is_judged(tmp_path, result, words, border):
    path = tmp_path / "heron.toml"
    plan = PLAN.replace("never_above = 90", f"never_above = {border}")
    path.write_text(plan.replace("shoulder_elevation", "trunk_lean_side"), "utf-8")
    (prescription,) = load_programme(path).prescriptions
    prescribed = replace(result, prescription=prescription)
    (check,) = (c for c in prescription.exercise.checks if c.id.startswith("never-above"))
    assert check.high == border
    told = f"at most {border:g}°"
    assert told in prescribed_for_client(prescribed, prescription.exercise, words)
    rows = prescribed_for_coach(prescribed, prescription.exercise, words)
    assert any(told in text for _, text in rows)


def test_a_change_of_one_part_is_told_of_that_part_alone(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    cycle = load_exercise("press-and-hold-cycle")
    part = next(p for p in cycle.parts if any(c.id == "elbow" for c in p.checks))
    path.write_text(
        'client = "heron"\nphase = "week 1"\n[[items]]\nexercise = "press-and-hold-cycle"\n'
        f'side = "right"\n[[items.parts]]\nname = "{part.name}"\n'
        '[[items.parts.checks]]\nid = "elbow"\nlow = 60\n',
        "utf-8",
    )
    (prescription,) = load_programme(path).prescriptions
    prescribed = replace(result, prescription=prescription)
    line = prescribed_for_client(prescribed, prescription.exercise, words)
    (check,) = (c for c in part.checks if c.id == "elbow")
    assert line.count("to") == line.count(f"60 to {check.high:g}°") == 1
    rows = dict(prescribed_for_coach(prescribed, prescription.exercise, words))
    assert rows["Prescribed for this client"].count("usually") == 1
    assert part.title in rows["Prescribed for this client"]


def test_a_range_is_told_in_the_unit_of_what_moves(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    path.write_text(
        'client = "heron"\nphase = "week 1"\n[[items]]\nexercise = "bent-elbow-circle"\n'
        'side = "right"\n[[items.checks]]\nid = "size"\nlow = 20\n',
        "utf-8",
    )
    (prescription,) = load_programme(path).prescriptions
    line = prescribed_for_client(
        replace(result, prescription=prescription), prescription.exercise, words
    )
    assert "at least 20°" in line


def test_the_coach_reads_what_is_usual_beside_what_was_agreed(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    path.write_text(PLAN + '[[items.checks]]\nid = "height"\nlow = 60\n', "utf-8")
    (prescription,) = load_programme(path).prescriptions
    prescribed = replace(result, prescription=prescription)
    rows = dict(prescribed_for_coach(prescribed, prescription.exercise, words))
    changes = rows["Prescribed for this client"]
    assert "Arm height at least 60° (usually at least 90°)" in changes
    assert "Arm height limit at most 90°" in changes
    assert "low" not in changes


COMMON = """
client = "heron"
phase = "weeks 3 to 5"
[[limits]]
measure = "shoulder_elevation"
never_above = 120
[[items]]
exercise = "row"
side = "right"
"""


def test_the_coach_reads_by_which_programme_a_clip_was_judged(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    path.write_text(COMMON, "utf-8")
    (one,) = load_programme(path).prescriptions

    def programme(prescription, alias="heron"):
        judged = replace(result, prescription=prescription)
        return dict(prescribed_for_coach(judged, one.exercise, words, alias)).get("Programme")

    assert programme(one) == 'heron\'s programme, phase "weeks 3 to 5"'
    assert programme(replace(one, version=2)).startswith("version 2 of heron's recorded programme")
    assert programme(None) == "none was used, so no limits of this client were applied"
    assert programme(None, alias="") is None


def test_of_an_exercise_that_is_not_prescribed_the_limits_and_what_they_leave_out_are_told(
    tmp_path, result, words
):
    path, press = tmp_path / "heron.toml", load_exercise("overhead-press")
    path.write_text(COMMON, "utf-8")
    one = load_programme(path).unlisted(press, "right", press)
    lost = {check.id for check in press.checks} - {check.id for check in one.exercise.checks}
    assert lost == {"height"}
    judged = replace(result, prescription=one)
    rows = dict(prescribed_for_coach(judged, one.exercise, words))
    assert rows["Programme"].endswith("not in it, so only its limits are applied")
    changes = rows["Prescribed for this client"].split("; ")
    assert len(changes) == 2
    assert "height: left out, as its target lies beyond a limit" in changes
    assert "at most 120°" in prescribed_for_client(judged, one.exercise, words)


def test_of_an_exercise_that_another_phase_has_its_targets_are_told_as_that_phases(
    tmp_path, result, words
):
    path = tmp_path / "heron.toml"
    path.write_text(COMMON, "utf-8")
    raising = load_exercise("side-raise")
    checks = [
        one.model_copy(update={"low": 70.0}) if one.id == "height" else one
        for one in raising.checks
    ]
    later = raising.model_copy(update={"checks": tuple(checks)})
    one = load_programme(path).unlisted(later, "right", raising)
    rows = dict(prescribed_for_coach(replace(result, prescription=one), one.exercise, words))
    assert rows["Programme"].endswith(
        "so its targets are those that another phase sets, within this client's limits"
    )
    assert "Arm height at least 70° (usually at least 90°)" in rows["Prescribed for this client"]
