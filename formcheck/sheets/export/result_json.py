"""``result.json``: a ClipResult as other programs read it.

Schema 1; keys are added, never renamed.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from importlib import resources
from pathlib import Path
from typing import Any

from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    Cue,
    DirectionCount,
    DoseCount,
    Finding,
    JudgedRep,
    LimitReport,
    RepCount,
    RoundCount,
    SecondCamera,
    SideCount,
    Summary,
)
from formcheck.exercises.programme import Prescription
from formcheck.measures.table import View
from formcheck.records.answer_file import answer_to_dict
from formcheck.records.answers import Answer
from formcheck.sheets.options import SheetOptions
from formcheck.words.labels import check_title, not_measured
from formcheck.words.words import words_for

SCHEMA_VERSION = 1
"""The layout's own number: a key that is renamed or left out would need another. Mechanical."""
_ENGLISH = words_for("en")
"""Sentences for people stand here in English whatever the pages are in; codes are for programs."""
_PLACES = 4
"""Finer than any of the measures, coarse enough to keep the file readable. Mechanical."""


def result_to_dict(
    result: ClipResult,
    *,
    client: str = "",
    made_on: date | None = None,
    answer: Answer | None = None,
) -> dict[str, Any]:
    """The result in the published layout: plain JSON types, NaN and infinities as None.

    ``client`` is an alias, ``made_on`` the day of the recording and ``answer`` what the client said,
    where they are known.
    """
    layout: dict[str, Any] = {
        "schema": SCHEMA_VERSION,
        "clip": _clip(result.clip),
        "exercise": result.exercise,
        "side": result.side,
        "view": _view(result.view),
        "quality": {
            "usable": result.usable,
            "tracked_share": result.tracked_share,
            "problems": [_problem(problem) for problem in result.problems],
        },
        "reps": [_rep(judged) for judged in result.reps],
        "dose": _dose(result.dose),
        "summary": _summary(result.summary),
        "provenance": {
            "formcheck": result.provenance.formcheck,
            "model": result.provenance.model,
            "model_sha256": result.provenance.model_sha256,
            "settings": dict(result.provenance.settings),
            "analysed_frames": result.provenance.analysed_frames,
        },
    }
    if result.second is not None:
        layout["second_camera"] = _second(result.second)
    if result.limits:
        layout["limits"] = [_limit(limit) for limit in result.limits]
    if result.prescription is not None:
        layout["prescription"] = _prescription(result.prescription)
    layout |= {"client": client} if client else {}
    layout |= {"made_on": made_on.isoformat()} if made_on else {}
    layout |= {"answers": answer_to_dict(answer)} if answer else {}
    return {key: _plain(value) for key, value in layout.items()}


def write_result_json(result: ClipResult, path: Path, options: SheetOptions | None = None) -> None:
    """Write ``result.json``: UTF-8, two-space indent, a newline at the end."""
    options = options or SheetOptions()
    layout = result_to_dict(
        result, client=options.alias, made_on=options.made_on, answer=options.answer
    )
    text = json.dumps(layout, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def result_schema() -> dict[str, Any]:
    """The published JSON Schema (draft 2020-12) of ``result.json``."""
    text = (resources.files("formcheck.sheets.export") / "data" / "result.schema.json").read_text(
        "utf-8"
    )
    schema: dict[str, Any] = json.loads(text)
    return schema


def _clip(clip: ClipFacts) -> dict[str, Any]:
    return asdict(clip) | {"file": Path(clip.file).name}


def _second(second: SecondCamera) -> dict[str, Any]:
    return {
        "clip": _clip(second.clip),
        "view": _view(second.view),
        "offset_s": second.offset_s,
        "rate": second.rate,
        "angle_deg": second.angle_deg,
        "angle_uncertainty_deg": second.angle_uncertainty_deg,
        "misfit_cm": second.misfit_cm,
        "timed_by": second.timed_by,
        "one_set_by": second.one_set_by,
        "message": _ENGLISH.tell(second.message),
    }


def _view(view: View) -> dict[str, Any]:
    return asdict(view)


def _problem(problem: RecordingProblem) -> dict[str, Any]:
    return {
        "code": problem.code,
        "message": _ENGLISH.tell(problem.message),
        "params": dict(problem.params),
        "start_s": problem.start_s,
        "end_s": problem.end_s,
        "fatal": problem.fatal,
    }


def _rep(judged: JudgedRep) -> dict[str, Any]:
    rep = judged.rep
    return {
        "index": rep.index,
        "kind": rep.kind,
        "partial": rep.partial,
        "side": rep.side,
        "set": rep.set,
        "part": rep.part,
        "direction": rep.direction,
        "start_s": rep.start_s,
        "top_start_s": rep.top_start_s,
        "top_end_s": rep.top_end_s,
        "end_s": rep.end_s,
        "hold_s": rep.hold_s,
        "score": judged.score,
        "score_uncertainty": judged.score_uncertainty,
        "coverage": judged.coverage,
        "checks": [_finding(finding) for finding in judged.findings],
        "own": {
            name: {"value": one.value, "uncertainty": one.sd, "unit": one.unit}
            for name, one in rep.measures.items()
        },
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id,
        "title": check_title(finding, _ENGLISH),
        "side": finding.side,
        "measure": finding.measure,
        "statistic": finding.statistic,
        "phase": finding.phase,
        "value": finding.value,
        "uncertainty": finding.uncertainty,
        "unit": finding.unit,
        "low": finding.low,
        "high": finding.high,
        "margin": finding.margin,
        "verdict": finding.verdict,
        "probability_outside": finding.probability_outside,
        "essential": finding.essential,
        "safety_limit": finding.safety_limit,
        "at_s": finding.at_s,
        "cue": finding.cue,
        "reason": _ENGLISH.tell(finding.reason) if finding.reason else None,
        "reason_code": finding.reason.code if finding.reason else None,
    }


def _dose(dose: DoseCount) -> dict[str, Any]:
    known = dose.prescribed is not None
    return {
        "prescribed": asdict(dose.prescribed) if dose.prescribed else {},
        "counted": _counted(dose.counted) if known else {},
        "met": dose.met,
    }


def _counted(counted: CountedDose) -> dict[str, Any]:
    holds = {"holds_s": [round(s, 2) for s in counted.holds_s], "long_enough": counted.long_enough}
    return {
        "count": counted.count,
        **{side: _side_count(count) for side, count in counted.by_side.items()},
        **(holds if counted.holds_s else {}),
        **(_by_set(counted) if counted.by_set else {}),
    }


def _by_set(counted: CountedDose) -> dict[str, Any]:
    counts = [{side: _side_count(count) for side, count in one.items()} for one in counted.by_set]
    return {"by_set": counts, "sets_done": counted.sets_done}


def _side_count(count: SideCount) -> object:
    match count:
        case RepCount():
            return count.count
        case DirectionCount():
            return asdict(count)
        case RoundCount():
            return {
                "cycles": count.rounds,
                "whole_cycles": count.whole,
                "left_out": count.left_out,
                "too_few": count.too_few,
            }


def _summary(summary: Summary) -> dict[str, Any]:
    return {
        "score": summary.score,
        "score_uncertainty": summary.score_uncertainty,
        "cues": [_cue(cue) for cue in summary.cues],
        "praise": summary.praise,
        "not_measured": [not_measured(one, _ENGLISH) for one in summary.not_measured],
        "look_yourself": list(summary.look_yourself),
        "rounds": [_ENGLISH.tell(message) for message in summary.rounds],
        "film_anew": summary.film_anew,
    }


def _limit(limit: LimitReport) -> dict[str, Any]:
    return {
        "check_id": limit.check_id,
        "measure": limit.measure,
        "state": limit.state,
        "low": limit.low,
        "high": limit.high,
        "unit": limit.unit,
        "value": limit.value,
        "uncertainty": limit.uncertainty,
        "at_s": limit.at_s,
        "times_seen": limit.times_seen,
        "among": limit.among,
        "per_clip": limit.per_clip,
        "cue": limit.cue,
        "reason": _ENGLISH.tell(limit.reason) if limit.reason else None,
        "better_view": limit.better_view,
    }


def _prescription(prescription: Prescription) -> dict[str, Any]:
    return {
        "client": prescription.client,
        "phase": prescription.phase,
        "version": prescription.version,
        "listed": prescription.listed,
        "side": prescription.side,
        "load": prescription.load or None,
        "note": prescription.note,
        "changes": [
            {"key": change.key, "before": change.before, "after": change.after}
            for change in prescription.changes
        ],
        "leave_out_if": list(prescription.leave_out_if),
    }


def _cue(cue: Cue) -> dict[str, Any]:
    return {
        "check_id": cue.check_id,
        "text": _ENGLISH.tell(cue.sentence),
        "rep_index": cue.rep_index,
        "at_s": cue.at_s,
        "times_seen": cue.times_seen,
        "certain": cue.certain,
        "per_round": cue.per_round,
    }


def _plain(value: object) -> object:
    """JSON types only: NaN and infinities as None, numbers rounded, NumPy scalars unwrapped."""
    match value:
        case None | bool() | str() | int():
            return value
        case float():
            return round(float(value), _PLACES) if math.isfinite(value) else None
        case Mapping():
            return {str(key): _plain(inner) for key, inner in value.items()}
        case list() | tuple():
            return [_plain(inner) for inner in value]
    unwrap = getattr(value, "item", None)
    return _plain(unwrap()) if unwrap is not None else str(value)
