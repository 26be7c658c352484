import json
from dataclasses import replace

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.observation import Observation

from formcheck.catalogue.codes import Message, ReasonCode
from formcheck.sheets.export.fhir import UCUM, observations, write_observations


@pytest.fixture
def resources(result, words):
    return [entry["resource"] for entry in observations(result, words, "Heron")["entry"]]


def test_every_observation_and_the_bundle_are_valid_r4(result, words, resources):
    Bundle.model_validate_json(json.dumps(observations(result, words, "Heron")))
    for resource in resources:
        Observation.model_validate_json(json.dumps(resource))


def test_there_is_one_for_each_check_of_each_whole_repetition(result, resources):
    whole = [judged for judged in result.reps if not judged.rep.partial]
    assert len(resources) == sum(len(judged.findings) for judged in whole)


def test_values_are_ucum_quantities_with_limits_and_uncertainty(resources):
    hike = next(r for r in resources if r.get("valueQuantity", {}).get("value") == 3.4)
    assert hike["valueQuantity"] == {"value": 3.4, "unit": "cm", "system": UCUM, "code": "cm"}
    assert hike["referenceRange"] == [
        {"high": {"value": 2.0, "unit": "cm", "system": UCUM, "code": "cm"}}
    ]
    parts = {p["code"]["coding"][0]["code"]: p for p in hike["component"]}
    assert parts["standard-uncertainty"]["valueQuantity"]["value"] == 0.5
    assert parts["repetition"]["valueInteger"] == 3
    assert hike["interpretation"][0]["coding"][0]["code"] == "outside"


def test_what_could_not_be_measured_says_why_and_has_no_value(resources):
    absent = [r for r in resources if "dataAbsentReason" in r]
    assert len(absent) == 5
    for resource in absent:
        assert "valueQuantity" not in resource
        assert resource["dataAbsentReason"]["text"] == "the arm is hidden"


def test_a_value_too_coarse_to_judge_by_is_not_sent_as_one(result, words):
    reason = Message(ReasonCode.TOO_COARSE, {"sd": 2.0, "unit": "cm"})
    coarse = {"verdict": "not-measurable", "value": 3.0, "reason": reason}
    reps = tuple(
        replace(rep, findings=tuple(replace(f, **coarse) for f in rep.findings))
        for rep in result.reps
    )
    sent = observations(replace(result, reps=reps), words, "Heron")["entry"]
    assert sent
    for resource in (entry["resource"] for entry in sent):
        assert not {"valueQuantity", "referenceRange"} & set(resource)
        assert resource["dataAbsentReason"]["text"] == words.tell(reason)


def test_no_code_of_another_system_is_claimed_and_nothing_is_final(resources):
    for resource in resources:
        assert all(c["system"].startswith("urn:formcheck:") for c in resource["code"]["coding"])
        assert resource["status"] == "preliminary"


def test_the_same_clip_gives_the_same_identifiers_and_another_clip_others(result, words):
    def keys(result):
        return [entry["fullUrl"] for entry in observations(result, words)["entry"]]

    other = replace(result, clip=replace(result.clip, sha256="ef" * 32))
    assert keys(result) == keys(result)
    assert set(keys(result)).isdisjoint(keys(other))
    assert len(set(keys(result))) == len(keys(result))


def test_a_clip_without_repetitions_gives_a_valid_empty_bundle(result, words, tmp_path):
    path = tmp_path / "observations.json"
    write_observations(observations(replace(result, reps=()), words), path)
    Bundle.model_validate_json(path.read_text("utf-8"))
