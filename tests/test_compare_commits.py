"""The script that compares two commits tells values from sentences and from what was added."""

import json

from tests.compare_commits import Comparison

OLD = {"reps": [{"score": 70, "cue": "Lift your hips."}], "side": "both"}


def result(folder, content, table="time_s,a\n0,1.5\n"):
    folder.mkdir()
    (folder / "result.json").write_text(json.dumps(content))
    (folder / "measures.csv").write_text(table)
    return folder


def compared(tmp_path, new, table="time_s,a\n0,1.5\n"):
    found = Comparison()
    found.folders(result(tmp_path / "old", OLD), result(tmp_path / "new", new, table))
    return found


def test_equal_results_have_no_difference(tmp_path):
    assert compared(tmp_path, OLD) == Comparison()


def test_a_changed_value_and_a_lost_key_are_differences(tmp_path):
    found = compared(tmp_path, {"reps": [{"score": 71, "cue": "Lift your hips."}]})
    assert found.values == [".reps[0].score: 70, now 71", ".side is gone"]


def test_another_number_of_repetitions_is_a_difference(tmp_path):
    assert compared(tmp_path, {**OLD, "reps": []}).values == [".reps: 1 entries, now 0"]


def test_a_reworded_sentence_and_a_new_key_are_told_by_themselves(tmp_path):
    new = {"reps": [{"score": 70, "cue": "Raise your hips."}], "side": "both", "more": 1}
    found = compared(tmp_path, new)
    assert found.values == []
    assert found.sentences == [".reps[0].cue: 'Lift your hips.', now 'Raise your hips.'"]
    assert found.added == {".more"}


def test_tables_are_compared_by_column(tmp_path):
    assert compared(tmp_path, OLD, "time_s,b,a\n0,7,1.5\n").values == []


def test_a_changed_cell_and_a_missing_table_are_differences(tmp_path):
    assert compared(tmp_path, OLD, "time_s,a\n0,1.6\n").values == [
        "measures.csv[1].a: '1.5', now '1.6'"
    ]
    (tmp_path / "new" / "measures.csv").unlink()
    again = Comparison()
    again.folders(tmp_path / "old", tmp_path / "new")
    assert again.values == ["measures.csv is gone"]
