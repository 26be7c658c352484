import json
from dataclasses import replace

import numpy as np
import pytest
from jsonschema import Draft202012Validator, ValidationError

from formcheck.catalogue.codes import Message, RoundCode
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.result import (
    CountedDose,
    DirectionCount,
    DoseCount,
    PrescribedDose,
    RepCount,
    RoundCount,
)
from formcheck.measures.table import View
from formcheck.sheets.export.result_json import result_schema, result_to_dict, write_result_json


def validate(document):
    Draft202012Validator(result_schema()).validate(document)


def test_the_published_schema_is_itself_valid():
    Draft202012Validator.check_schema(result_schema())


def test_a_result_follows_the_published_schema(result):
    validate(result_to_dict(result))


def test_an_unusable_clip_follows_it_too(result):
    view = View(MeasuredView.UNKNOWN, float("nan"), float("nan"))
    validate(result_to_dict(replace(result, usable=False, reps=(), view=view)))


def test_the_schema_refuses_a_value_without_its_uncertainty(result):
    document = result_to_dict(result)
    document["reps"][0]["checks"][0]["uncertainty"] = None
    with pytest.raises(ValidationError):
        validate(document)


def test_what_is_not_measurable_must_say_why(result):
    document = result_to_dict(result)
    document["reps"][0]["checks"][3]["reason"] = None
    with pytest.raises(ValidationError):
        validate(document)


def test_unknown_numbers_are_null_and_numpy_numbers_are_numbers(result):
    odd = replace(result.reps[0], coverage=np.float64(0.123456789))
    settings = {"a": float("inf"), "b": np.int64(3), "c": (np.bool_(True),)}
    changed = replace(
        result,
        reps=(odd,),
        view=View(MeasuredView.FRONT, float("nan"), 5.0),
        provenance=replace(result.provenance, settings=settings),
    )
    document = result_to_dict(changed)
    assert document["view"]["yaw_deg"] is None
    assert document["reps"][0]["coverage"] == 0.1235
    assert document["provenance"]["settings"] == {"a": None, "b": 3, "c": [True]}


def test_the_file_holds_strict_json_with_the_keys_in_the_published_order(result, tmp_path):
    path = tmp_path / "result.json"
    write_result_json(result, path)

    def refuse(constant):
        raise AssertionError(constant)

    document = json.loads(path.read_text("utf-8"), parse_constant=refuse)
    assert list(document) == [
        "schema", "clip", "exercise", "side", "view", "quality", "reps", "dose", "summary",
        "provenance",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("count", "written"),
    [
        (RepCount(8), 8),
        (DirectionCount(forward=3, backward=2), {"forward": 3, "backward": 2}),
        (
            RoundCount(2, 1, left_out=((), ("press",)), too_few=({"circles": 2}, {})),
            {
                "cycles": 2, "whole_cycles": 1,
                "left_out": [[], ["press"]], "too_few": [{"circles": 2}, {}],
            },
        ),
    ],
)  # fmt: skip
def test_a_dose_keeps_its_published_keys(result, count, written):
    counted = CountedDose(8, {"right": count}, holds_s=(6.123, 5.0), long_enough=1)
    dose = DoseCount(PrescribedDose(10, hold_s=5.0), counted, met=False)
    assert result_to_dict(replace(result, dose=dose))["dose"] == {
        "prescribed": {"count": 10, "per_direction": False, "sets": 1, "hold_s": 5.0},
        "counted": {"count": 8, "right": written, "holds_s": [6.12, 5.0], "long_enough": 1},
        "met": False,
    }


def test_the_dose_of_an_unknown_exercise_is_empty(result):
    dose = DoseCount(None, CountedDose(), met=None)
    written = result_to_dict(replace(result, dose=dose))["dose"]
    assert written == {"prescribed": {}, "counted": {}, "met": None}


def test_what_rounds_lack_is_written_as_sentences(result):
    lacks = Message(RoundCode.LEFT_OUT, {"number": 2, "side": "", "part": "Press"})
    summary = replace(result.summary, rounds=(lacks,))
    written = result_to_dict(replace(result, summary=summary))["summary"]["rounds"]
    assert written == ["Round 2: Press was left out."]


def test_the_folder_a_clip_lies_in_stays_private(result):
    clip = replace(result.clip, file="/home/somebody/clips/raise.mp4")
    assert result_to_dict(replace(result, clip=clip))["clip"]["file"] == "raise.mp4"


def test_a_reader_can_tell_what_a_cue_counts_and_whether_filming_anew_would_help(result):
    cue = replace(result.summary.cues[0], per_round=True)
    summary = replace(result.summary, cues=(cue,), film_anew=False)
    document = result_to_dict(replace(result, summary=summary))
    validate(document)
    assert document["summary"]["cues"][0]["per_round"] is True
    assert document["summary"]["film_anew"] is False
