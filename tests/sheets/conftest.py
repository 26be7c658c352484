"""One synthetic set of scaption raises: five whole ones (a hike in the third), one broken off."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from formcheck.catalogue.codes import Message, ProblemCode, ReasonCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.quantity import Quantity
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    Cue,
    DoseCount,
    Finding,
    JudgedRep,
    NotMeasured,
    PrescribedDose,
    Provenance,
    Summary,
)
from formcheck.clips.types import Frame
from formcheck.exercises.schema import Exercise
from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack
from formcheck.measures.table import Gap, MeasureTable, Series, View, column_name
from formcheck.movements.types import Rep
from formcheck.sheets.pages.moments import moments_of
from formcheck.sheets.pages.sheet import Sheet, gather_sheet, heading_of
from formcheck.sheets.video.stills import take_stills
from formcheck.words.words import Words, words_for

DURATION_S = 24.0
RATE_HZ = 15.0
WIDTH, HEIGHT = 180, 320
STARTS_S = (1.0, 4.8, 8.6, 12.4, 16.2, 20.0)


def whole_rep(index: int) -> Rep:
    start = STARTS_S[index - 1]
    partial = index == 6
    return Rep(
        index=index,
        kind="rep",
        side="right",
        partial=partial,
        start_s=start,
        top_start_s=start + 1.4,
        top_end_s=start + 1.8,
        end_s=start + (2.2 if partial else 3.2),
        measures={"range": Quantity(82.0, 3.0, "deg"), "duration": Quantity(3.2, 0.1, "s")},
    )


def finding(check_id: str, **changes: object) -> Finding:
    base = {
        "elevation-top": Finding(
            "elevation-top", "shoulder_elevation", "mean", "top", 91.0, 4.0, "deg", 80.0, 100.0,
            9.0, "within", 2.6, "Raise your arm to shoulder height, no further.", None,
        ),
        "elbow-straight": Finding(
            "elbow-straight", "elbow_flexion", "max", "whole", 12.0, 3.5, "deg", None, 20.0,
            8.0, "within", 2.2, "Keep your elbow long.", None,
        ),
        "shoulder-down": Finding(
            "shoulder-down", "hike", "max", "effort", 0.8, 0.5, "cm", None, 2.0,
            1.2, "within", 2.4, "Let your shoulder stay low as your arm goes up.", None,
        ),
        "plane": Finding(
            "plane", "plane_of_elevation", "mean", "top", None, None, "deg", 20.0, 50.0,
            None, "not-measurable", None, "Lift a little in front of your side.",
            Message(ReasonCode.ARM_HIDDEN),
        ),
        "lowering-slow": Finding(
            "lowering-slow", "duration", "value", "whole", 3.2, 0.1, "s", 3.0, None,
            0.2, "within", 4.2, "Take your time on the way down.", None,
        ),
    }[check_id]  # fmt: skip
    return replace(base, **changes)


def findings_of(rep: Rep) -> tuple[Finding, ...]:
    shift = rep.start_s - STARTS_S[0]
    hike: dict[str, object] = {}
    elbow: dict[str, object] = {}
    if rep.index in (3, 4):
        hike = {"value": 3.4, "margin": -1.4, "verdict": "outside"}
    if rep.index == 2:
        elbow = {
            "value": 20.6,
            "margin": -0.6,
            "verdict": "borderline",
            "probability_outside": 0.57,
        }
    made = (
        finding("elevation-top"),
        finding("elbow-straight", **elbow),
        finding("shoulder-down", **hike),
        finding("plane"),
        finding("lowering-slow"),
    )
    return tuple(replace(f, at_s=None if f.at_s is None else f.at_s + shift) for f in made)


@pytest.fixture(scope="session")
def result() -> ClipResult:
    reps = [whole_rep(index) for index in range(1, 7)]
    judged = tuple(
        JudgedRep(rep, None, 0.0, ())
        if rep.partial
        else JudgedRep(rep, 100 - 12 * (rep.index in (3, 4)), 0.8, findings_of(rep))
        for rep in reps
    )
    return ClipResult(
        clip=ClipFacts(
            "raise.mp4", "ab" * 32, DURATION_S, 360, RATE_HZ, WIDTH, HEIGHT, 0, variable_rate=False
        ),
        exercise="scaption-raise",
        side="right",
        view=View(MeasuredView.FRONT, 4.0, 6.0),
        usable=True,
        tracked_share=0.97,
        problems=(
            RecordingProblem(
                ProblemCode.SOMEBODY_ELSE_IN_VIEW, 5.0, 7.0, params={"about": "busiest"}
            ),
        ),
        reps=judged,
        dose=DoseCount(PrescribedDose(8), CountedDose(5), met=False),
        summary=Summary(
            score=95,
            score_uncertainty=6.0,
            cues=(
                Cue(
                    "shoulder-down",
                    "Let your shoulder stay low as your arm goes up.",
                    3,
                    10.0,
                    2,
                    certain=True,
                ),
                Cue("elbow-straight", "Keep your elbow long.", 2, 6.0, 1, certain=False),
            ),
            praise="You raised your arm to the height that was asked every time.",
            not_measured=(
                NotMeasured("plane", None, Message(ReasonCode.NO_PLANE), better_view="oblique"),
            ),
            look_yourself=("Does the shoulder blade lie flat when the arm comes down?",),
        ),
        provenance=Provenance("0.1.0", "full", "cd" * 32, {"cutoff_hz": 6.0, "stature_cm": 170.0}),
    )


@pytest.fixture(scope="session")
def exercise() -> Exercise:
    check = {"tolerance": 10.0, "source": "common practice, no source"}
    return Exercise.model_validate(
        {
            "name": "scaption-raise",
            "title": "Scaption raise",
            "summary": "Raise your arm to shoulder height, a little in front of your side.",
            "start_position": "Stand tall, arm by your side, thumb forward.",
            "position": "standing",
            "arms": "one",
            "movement": "rep",
            "primary": {"measure": "shoulder_elevation", "min_range": 30.0},
            "dose": {"count": 8, "source": "common practice, no source"},
            "filming": {
                "best": ["front"],
                "usable": ["back", "oblique"],
                "advice": "Put the camera at chest height, three metres away, and face it.",
            },
            "checks": [
                {
                    **check, "id": "elevation-top", "measure": "shoulder_elevation",
                    "statistic": "mean", "phase": "top", "low": 90.0, "high": 90.0,
                    "importance": "range", "praise": "You reached the height that was asked.",
                    "cue": "Raise your arm to shoulder height, no further.",
                },
                {
                    **check, "id": "elbow-straight", "measure": "elbow_flexion",
                    "statistic": "max", "high": 10.0, "importance": "position",
                    "praise": "Your elbow stayed long.", "cue": "Keep your elbow long.",
                },
                {
                    **check, "id": "shoulder-down", "measure": "hike", "statistic": "max",
                    "phase": "effort", "high": 1.0, "tolerance": 1.0, "importance": "safety",
                    "praise": "Your shoulder stayed low.",
                    "cue": "Let your shoulder stay low as your arm goes up.",
                },
                {
                    **check, "id": "plane", "measure": "plane_of_elevation", "statistic": "mean",
                    "phase": "top", "low": 30.0, "high": 40.0, "importance": "position",
                    "praise": "Your arm stayed in the right plane.",
                    "cue": "Lift a little in front of your side.",
                },
                {
                    **check, "id": "lowering-slow", "measure": "duration", "statistic": "value",
                    "low": 3.0, "tolerance": 0.0, "importance": "tempo",
                    "praise": "You took your time.", "cue": "Take your time on the way down.",
                },
            ],
            "cautions": ["Not after a fresh operation without your therapist's word."],
            "look_yourself": ["Does the shoulder blade lie flat when the arm comes down?"],
            "source": "common practice, no source",
        }
    )  # fmt: skip


def elevation_at(time_s: np.ndarray) -> np.ndarray:
    """Arm raised in every repetition; broken off half-way in the last."""
    value = np.full(len(time_s), 9.0)
    for index in range(1, 7):
        rep = whole_rep(index)
        knots = [rep.start_s, rep.top_start_s, rep.top_end_s, rep.end_s]
        top = 50.0 if rep.partial else 82.0
        value += np.interp(time_s, knots, [0.0, top, top, 0.0])
    return value


@pytest.fixture(scope="session")
def table() -> MeasureTable:
    time_s = np.arange(0.0, DURATION_S, 1 / RATE_HZ)
    flat = np.full(len(time_s), 3.0)
    elevation = elevation_at(time_s)
    hike = 0.01 * (elevation - 9.0)
    hike[(time_s > STARTS_S[2]) & (time_s < STARTS_S[4])] *= 4.0
    elbow = 12.0 + 0.02 * elevation
    seen = (time_s < 13.0) | (time_s > 14.0)
    columns = {
        column_name("shoulder_elevation", "right"): Series(elevation, flat + 1),
        column_name("shoulder_elevation", "left"): Series(np.full(len(time_s), 8.0), flat),
        column_name("elbow_flexion", "right"): Series(np.where(seen, elbow, np.nan), flat),
        column_name("hike", "right"): Series(hike, flat * 0.15),
        column_name("hand_height", "right"): Series(elevation, flat),
        column_name("trunk_lean_side"): Series(np.sin(time_s), flat * 0.3),
    }
    return MeasureTable(
        time_s=time_s,
        columns=columns,
        view=View(MeasuredView.FRONT, 4.0, 6.0),
        arm_paths={},
        moving_about=np.zeros(len(time_s), bool),
        bridged=np.zeros(len(time_s), bool),
        gaps={column_name("elbow_flexion", "right"): (Gap(13.0, 14.0, "the arm was hidden"),)},
    )


def figure_at(time_s: float) -> np.ndarray:
    """(33, 2) pixel positions of a front-facing stick figure whose right arm follows the table."""
    points = np.full((LANDMARK_COUNT, 2), (90.0, 60.0))
    places = {
        Joint.NOSE: (90, 50), Joint.LEFT_EYE: (95, 45), Joint.RIGHT_EYE: (85, 45),
        Joint.LEFT_EAR: (101, 47), Joint.RIGHT_EAR: (79, 47),
        Joint.LEFT_SHOULDER: (115, 85), Joint.RIGHT_SHOULDER: (65, 85),
        Joint.LEFT_ELBOW: (119, 122), Joint.LEFT_WRIST: (121, 157), Joint.LEFT_INDEX: (121, 168),
        Joint.LEFT_HIP: (106, 165), Joint.RIGHT_HIP: (74, 165),
        Joint.LEFT_KNEE: (106, 225), Joint.RIGHT_KNEE: (74, 225),
        Joint.LEFT_ANKLE: (106, 285), Joint.RIGHT_ANKLE: (74, 285),
    }  # fmt: skip
    for joint, place in places.items():
        points[joint] = place
    raised = np.radians(elevation_at(np.array([time_s]))[0])
    along = np.array([-np.sin(raised), np.cos(raised)])
    for joint, length in (
        (Joint.RIGHT_ELBOW, 37.0),
        (Joint.RIGHT_WRIST, 72.0),
        (Joint.RIGHT_INDEX, 83.0),
    ):
        points[joint] = points[Joint.RIGHT_SHOULDER] + length * along
    return points


@pytest.fixture(scope="session")
def track() -> LandmarkTrack:
    time_s = np.arange(0.0, DURATION_S, 1 / RATE_HZ)
    flat = np.stack([figure_at(t) for t in time_s])
    image = np.concatenate([flat, np.zeros((*flat.shape[:2], 1))], axis=2)
    return LandmarkTrack(
        time_s=time_s,
        image_px=image,
        world_m=image * 0.01,
        visibility=np.ones(image.shape[:2]),
        width=WIDTH,
        height=HEIGHT,
        model="full",
        model_sha256="cd" * 32,
    )


@pytest.fixture(scope="session")
def frames() -> list[Frame]:
    """A noisy room, so that anything blurred can be told from anything kept."""
    noise = np.random.default_rng(7).integers(0, 255, (HEIGHT, WIDTH, 3), dtype=np.uint8)
    return [Frame(float(t), noise) for t in np.arange(0.0, DURATION_S, 1 / RATE_HZ)]


@pytest.fixture(scope="session")
def words() -> Words:
    return words_for("en")


@pytest.fixture(scope="session")
def sheet(result, table, exercise, track, frames, words) -> Sheet:
    heading = heading_of(
        result, exercise, words, alias="Heron", made_on=date(2026, 11, 25), show_face=False
    )
    stills = take_stills(frames, track, moments_of(result, exercise, table))
    return gather_sheet(result, table, exercise, stills=stills, heading=heading, words=words)


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</title><svg onload=alert(1)>",
    "{{ 7 * 7 }}{% raw %}",
    '#eval("1+1") $x^2$ *bold* _it_ `raw` @ref <label> \\n //',
    "=cmd|' /C calc'!A0",
    "\N{RIGHT-TO-LEFT OVERRIDE}gpj.exe",
    "שלום עולם",
    "Zoë Żółć Ωμέγα Дмитрий 山田太郎 김철수",
    "🦩🏋️",
    "long " * 200 + "word" * 100,
    "line\nbreak\ttab\x0bcontrol",
)


@pytest.fixture(scope="session")
def all_hostile() -> tuple[str, ...]:
    return HOSTILE


@pytest.fixture(params=HOSTILE, ids=range(len(HOSTILE)))
def hostile(request) -> str:
    return request.param


@pytest.fixture
def hostile_case(hostile, result, exercise) -> tuple[ClipResult, Exercise]:
    """A result and an exercise in which everything that can be text is hostile text."""
    rep = result.reps[0]
    findings = tuple(replace(f, cue=hostile) for f in rep.findings)
    changed = replace(
        result,
        clip=replace(result.clip, file=hostile.replace("/", "_") + ".mp4"),
        problems=(RecordingProblem(ProblemCode.NO_REPETITION, params={"exercise": hostile}),),
        reps=(
            replace(rep, rep=replace(rep.rep, part=hostile), findings=findings),
            *result.reps[1:],
        ),
        summary=replace(
            result.summary,
            cues=tuple(replace(cue, sentence=hostile) for cue in result.summary.cues),
            praise=hostile,
            not_measured=(NotMeasured(hostile, None, Message(ReasonCode.NOT_SEEN), None),),
            look_yourself=(hostile,),
        ),
        provenance=replace(result.provenance, settings={hostile: hostile}),
    )
    texts = {"title": hostile, "summary": hostile, "cautions": (hostile,), "source": hostile}
    filming = exercise.filming.model_copy(update={"advice": hostile})
    return changed, exercise.model_copy(update={**texts, "filming": filming})
