"""HL7 FHIR R4: each measured check of each whole repetition as an Observation.

Values are UCUM quantities under formcheck's own code system; no code of another system is claimed.
They are ``preliminary`` because no clinician has looked at them. Times within the clip are given in
seconds from its start, since a recording does not reliably say when it was made.
"""

import json
import uuid
from pathlib import Path
from typing import Any

from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.words.labels import check_title
from formcheck.words.words import Words

CHECK_SYSTEM = "urn:formcheck:check"
MEASURE_SYSTEM = "urn:formcheck:measure"
COMPONENT_SYSTEM = "urn:formcheck:component"
VERDICT_SYSTEM = "urn:formcheck:verdict"
OBSERVATION_SYSTEM = "urn:formcheck:observation"
EXERCISE_SYSTEM = "urn:formcheck:exercise"
UCUM = "http://unitsofmeasure.org"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
_UCUM_CODES = {"deg": "deg", "cm": "cm", "s": "s", "deg/s": "deg/s", "cm/s": "cm/s", "": "1"}
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, OBSERVATION_SYSTEM)


def observations(result: ClipResult, words: Words, alias: str = "") -> dict[str, Any]:
    """A FHIR R4 Bundle (collection) of Observations, as plain JSON types."""
    entries = [
        _entry(_observation(result, judged, finding, words, alias))
        for judged in result.whole_reps
        for finding in judged.findings
    ]
    bundle: dict[str, Any] = {"resourceType": "Bundle", "type": "collection"}
    return bundle | ({"entry": entries} if entries else {})


def write_observations(bundle: dict[str, Any], path: Path) -> None:
    """Write a bundle as UTF-8 JSON."""
    text = json.dumps(bundle, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def _entry(observation: dict[str, Any]) -> dict[str, Any]:
    key = uuid.uuid5(_NAMESPACE, observation["identifier"][0]["value"])
    return {"fullUrl": f"urn:uuid:{key}", "resource": observation}


def _observation(
    result: ClipResult, judged: JudgedRep, finding: Finding, words: Words, alias: str
) -> dict[str, Any]:
    rep = judged.rep
    side = finding.side or rep.side
    where = f"{result.clip.sha256}/{result.exercise}/{side}/{rep.index}/{finding.id}"
    label = check_title(finding, words)
    made = result.provenance
    observation: dict[str, Any] = {
        "resourceType": "Observation",
        "identifier": [{"system": OBSERVATION_SYSTEM, "value": where}],
        "status": "preliminary",
        "code": {
            "coding": [
                {"system": CHECK_SYSTEM, "code": finding.id},
                {"system": MEASURE_SYSTEM, "code": finding.measure},
            ],
            "text": label,
        },
        "bodySite": {"text": words(f"side.{side}")},
        "method": {"text": "pose landmarks of a single-camera video recording"},
        "device": {"display": f"formcheck {made.formcheck}, pose model {made.model}"},
        "interpretation": [
            {"coding": [{"system": VERDICT_SYSTEM, "code": finding.verdict}]},
        ],
        "component": _components(result, judged, finding),
    }
    if alias:
        observation["subject"] = {"display": alias}
    if finding.verdict == "not-measurable" or finding.value is None:
        coding = [{"system": ABSENT, "code": "unknown"}]
        text = words.tell(finding.reason) if finding.reason else finding.verdict
        reason = {"coding": coding, "text": text}
        return observation | {"dataAbsentReason": reason}
    value = {"valueQuantity": _quantity(finding.value, finding.unit)}
    return observation | value | _range(finding)


def _range(finding: Finding) -> dict[str, Any]:
    limits = {
        name: _quantity(limit, finding.unit)
        for name, limit in (("low", finding.low), ("high", finding.high))
        if limit is not None
    }
    return {"referenceRange": [limits]} if limits else {}


def _components(result: ClipResult, judged: JudgedRep, finding: Finding) -> list[dict[str, Any]]:
    parts = [
        _component("repetition", {"valueInteger": judged.rep.index}),
        _component("start", {"valueQuantity": _quantity(judged.rep.start_s, "s")}),
        _component("end", {"valueQuantity": _quantity(judged.rep.end_s, "s")}),
        _component(
            "exercise",
            {
                "valueCodeableConcept": {
                    "coding": [{"system": EXERCISE_SYSTEM, "code": result.exercise}]
                }
            },
        ),
    ]
    if finding.uncertainty is not None and finding.verdict != "not-measurable":
        spread = {"valueQuantity": _quantity(finding.uncertainty, finding.unit)}
        parts.append(_component("standard-uncertainty", spread))
    if finding.probability_outside is not None:
        outside = {"valueQuantity": _quantity(finding.probability_outside, "")}
        parts.append(_component("probability-outside", outside))
    if finding.at_s is not None:
        parts.append(_component("moment", {"valueQuantity": _quantity(finding.at_s, "s")}))
    return parts


def _component(code: str, value: dict[str, Any]) -> dict[str, Any]:
    return {"code": {"coding": [{"system": COMPONENT_SYSTEM, "code": code}]}} | value


def _quantity(value: float, unit: str) -> dict[str, Any]:
    quantity: dict[str, Any] = {"value": round(float(value), 4), "unit": unit or "1"}
    code = _UCUM_CODES.get(unit)
    return quantity | ({"system": UCUM, "code": code} if code else {})
