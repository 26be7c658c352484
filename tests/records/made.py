"""Results as ``result.json`` has them, made for tests without a clip."""

import hashlib
from datetime import date

DAY = date(2026, 3, 2)
NOT_COMPARABLE = [
    ({"view": "left-oblique", "yaw_deg": 45.0}, ("view",)),
    ({"yaw_deg": 28.0}, ("place",)),
    ({"distance_m": 4.0}, ("place",)),
    ({"elevation_deg": 25.0}, ("place",)),
    ({"load": "1 kg"}, ("load",)),
    ({"model": "lite"}, ("model_sha256",)),
    ({"version": "2.0.0"}, ("formcheck",)),
]
"""Changes of a made result that forbid comparing it, and what then differs."""


def made_clip(name):
    return hashlib.sha256(name.encode()).hexdigest()


def made_check(
    check_id="raise-height", *, value=90.0, sd=3.0, verdict="within", side="right", **more
):
    return {
        "id": check_id,
        "side": side,
        "measure": "elevation",
        "statistic": "max",
        "phase": "whole",
        "value": value,
        "uncertainty": sd,
        "unit": "deg",
        "low": 80.0,
        "high": 100.0,
        "margin": 10.0,
        "verdict": verdict,
        "probability_outside": 0.0,
        "essential": False,
        "safety_limit": False,
        "at_s": 1.0,
        "cue": "",
        "reason": None,
        "reason_code": None,
    } | more


def made_limit(state):
    return {
        "check_id": "never-above-shoulder-elevation",
        "measure": "shoulder_elevation",
        "state": state,
        "low": None,
        "high": 120.0,
        "unit": "deg",
        "value": 128.0,
        "uncertainty": 4.0,
    }


def made_rep(index, checks, *, side="right", start_s=None, length_s=3.0, hold_s=None, **more):
    start = 4.0 * index if start_s is None else start_s
    return {
        "index": index,
        "kind": "rep",
        "partial": False,
        "side": side,
        "set": 1,
        "part": None,
        "direction": None,
        "start_s": start,
        "end_s": start + length_s,
        "hold_s": hold_s,
        "score": 100,
        "score_uncertainty": 1.0,
        "coverage": 1.0,
        "checks": checks,
        "own": {},
    } | more


def made_result(
    clip="one",
    *,
    exercise="scaption-raise",
    side="right",
    values=(90.0, 91.0, 92.0),
    yaw_deg=0.0,
    view="front",
    distance_m=3.0,
    elevation_deg=4.0,
    model="full",
    version="1.0.0",
    reps=None,
    **more,
):
    reps = reps or [
        made_rep(k, [made_check(value=value, side=side)], side=side)
        for k, value in enumerate(values, start=1)
    ]
    return {
        "schema": 1,
        "clip": {"file": f"{clip}.mp4", "sha256": made_clip(clip), "duration_s": 30.0},
        "exercise": exercise,
        "side": side,
        "view": {
            "name": view,
            "yaw_deg": yaw_deg,
            "uncertainty_deg": 5.0,
            "camera_distance_m": distance_m,
            "camera_elevation_deg": elevation_deg,
        },
        "quality": {"usable": True, "tracked_share": 1.0, "problems": []},
        "reps": reps,
        "dose": {
            "prescribed": {"count": len(reps), "sets": 1},
            "counted": {"count": len(reps)},
            "met": True,
        },
        "summary": {"score": 100},
        "provenance": {
            "formcheck": version,
            "model": model,
            "model_sha256": made_clip(model),
            "settings": {"stature_m": 1.7},
        },
    } | more
