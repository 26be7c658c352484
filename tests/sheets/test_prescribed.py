"""What was agreed with a client is said once, in the words of the sheets."""

from dataclasses import replace

from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.sheets.prescribed import prescribed_for_client, prescribed_for_coach

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


def test_both_ends_of_one_measure_are_told_together(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    (height,) = [c for c in load_exercise("scaption-raise").checks if c.id == "height"]
    lower = f'[[items.checks]]\nid = "height"\nlow = {height.low - 20:g}\n'
    path.write_text(PLAN + lower, "utf-8")
    (prescription,) = load_programme(path).prescriptions
    line = prescribed_for_client(
        replace(result, prescription=prescription), prescription.exercise, words
    )
    assert line.count("Arm height, highest") == 1
    assert f"{height.low - 20:g} to 90°" in line


def test_the_coach_reads_what_is_usual_beside_what_was_agreed(tmp_path, result, words):
    path = tmp_path / "heron.toml"
    path.write_text(PLAN + '[[items.checks]]\nid = "height"\nlow = 60\n', "utf-8")
    (prescription,) = load_programme(path).prescriptions
    prescribed = replace(result, prescription=prescription)
    rows = dict(prescribed_for_coach(prescribed, prescription.exercise, words))
    changes = rows["Prescribed for this client"]
    assert "Arm height, highest: at least 60° (usually at least 90°)" in changes
    assert "Arm height, highest: at most 90°" in changes
    assert "low" not in changes
