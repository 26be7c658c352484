import csv
from dataclasses import replace

import pytest

from formcheck.catalogue.measures import MEASURES
from formcheck.sheets.export.csv_tables import write_measures_csv, write_reps_csv


def read(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def header_of(path):
    return path.read_text("utf-8").splitlines()[0].split(",")


def test_measures_have_the_columns_of_the_contract_in_its_order(table, tmp_path):
    """Later measures follow them, so that a program that reads by place is never led astray."""
    path = tmp_path / "measures.csv"
    write_measures_csv(table, path)
    arm = [
        "elbow_flexion_{}_deg", "shoulder_elevation_{}_deg", "plane_of_elevation_{}_deg",
        "axial_rotation_{}_deg", "upper_arm_forward_{}_deg", "hike_{}_cm", "upper_arm_to_vertical_{}_deg",
    ]  # fmt: skip
    expected = [name.format(side) for side in ("left", "right") for name in arm]
    expected += ["trunk_lean_side_deg", "trunk_lean_forward_deg", "trunk_turn_deg",
                 "body_line_deg", "hip_off_line_cm",
                 "protraction_left_cm", "protraction_right_cm",
                 "hand_height_left_cm", "hand_height_right_cm",
                 "hand_behind_left_cm", "hand_behind_right_cm"]  # fmt: skip
    header = header_of(path)
    assert (header[0], header[-1]) == ("time_s", "bridged")
    values, sds = header[1:-1:2], header[2:-1:2]
    assert values[: len(expected)] == expected
    assert sds == [f"{name}_sd" for name in values]


def test_every_measure_over_time_has_a_place_in_the_table():
    assert all(row.csv_place > 0 for row in MEASURES.values() if row.over_time)


def test_measures_have_one_row_a_time_and_blanks_where_nothing_is_known(table, tmp_path):
    path = tmp_path / "measures.csv"
    write_measures_csv(table, path)
    rows = read(path)
    assert len(rows) == len(table.time_s)
    gap = next(row for row in rows if float(row["time_s"]) > 13.5)
    assert gap["elbow_flexion_right_deg"] == ""
    assert gap["plane_of_elevation_left_deg"] == gap["plane_of_elevation_left_deg_sd"] == ""
    assert float(rows[0]["shoulder_elevation_right_deg"]) == 9.0
    assert float(rows[0]["shoulder_elevation_right_deg_sd"]) == 4.0


def test_reps_have_one_row_each_with_every_check(result, tmp_path):
    path = tmp_path / "reps.csv"
    write_reps_csv(result, path)
    rows = read(path)
    assert [row["index"] for row in rows] == ["1", "2", "3", "4", "5", "6"]
    assert rows[5]["partial"] == "true"
    assert rows[5]["shoulder-down_value"] == ""
    assert rows[2]["shoulder-down_value"] == "3.4"
    assert rows[2]["shoulder-down_verdict"] == "outside"
    assert rows[2]["plane_verdict"] == "not-measurable"


@pytest.mark.parametrize(
    "text",
    ["=1+2", "+1", "-1", "@sum", "\t=1", "\r=1", " =cmd|' /c calc'!A0", "-2+3+cmd", "\uff1d1"],
)
def test_text_that_would_run_in_a_spreadsheet_is_defused(text, result, tmp_path):
    rep = replace(result.reps[0].rep, part=text)
    path = tmp_path / "reps.csv"
    write_reps_csv(replace(result, reps=(replace(result.reps[0], rep=rep),)), path)
    assert read(path)[0]["part"] == "'" + text.replace("\t", " ").replace("\r", " ")


def test_numbers_below_zero_stay_numbers(result, tmp_path):
    path = tmp_path / "reps.csv"
    write_reps_csv(result, path)
    assert read(path)[2]["shoulder-down_margin"] == "-1.4"
