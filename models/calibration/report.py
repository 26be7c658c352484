"""Judge the product's angles on people and cameras that were never fitted, and write it down.

    python -m models.calibration.report --data DIR --workers 8
    python -m models.calibration.report --real DIR

The first writes ``REPORT.md`` beside this file, and the view advice that ``formcheck`` ships
(``formcheck/measures/data/view_advice.json``): for each measure, how sure it is from each view. The
second writes only the section on a real person (``real.py``), which the first leaves as it is.
"""

import argparse
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import (
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
)
from formcheck.measures.learned import learned_estimate
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import Posture, posture_from
from formcheck.measures.table import SIDES, Side
from models.calibration.advice import view_advice
from models.calibration.aims import (
    AIMS,
    FACING_DEG,
    POINTING_DEG,
    ArmErrors,
    aims_rows,
    facing,
)
from models.calibration.dataset import (
    SCALED_ON,
    SEEN,
    clips_of,
    track_of,
    visibility,
)
from models.calibration.hidden_faces import TITLE as FACES_TITLE
from models.calibration.markdown import table
from models.calibration.real import TITLE, section_in, section_of, with_section
from models.calibration.reliability import repeat_section
from models.calibration.shards import Clip
from models.calibration.simpler import MEASURES as COMPARED
from models.calibration.simpler import simpler_estimates
from models.calibration.verdict_reliability import reliability, with_sections
from models.calibration.verdicts import (
    Ruling,
    all_rulings,
    arm_truth,
    arm_yaw_deg,
    sections,
    view_group,
)

Array = NDArray[np.float64]
ARM = (
    "elbow_flexion", "shoulder_elevation", "plane_of_elevation", "axial_rotation", "upper_arm_forward",
)  # fmt: skip
TRUNK = ("trunk_lean_side", "trunk_lean_forward", "trunk_turn")
MEASURES = (*ARM, "upper_arm_to_vertical", "rise", *TRUNK, "body_line")
SUREST = 0.85
"""Share of the times, those with the least uncertainty, whose mean error is told apart."""
FAULTS = {
    "elbow_flexion": ("elbow",),
    "shoulder_elevation": ("half", "drop"),
    "plane_of_elevation": ("plane",),
    "rise": ("hike",),
    "trunk_lean_side": ("lean-side",),
    "trunk_lean_forward": ("lean-back-forward",),
    "trunk_turn": ("turn",),
    "body_line": ("sag", "pike"),
}
"""Faults of the made clips that show in a measure."""
_RAW = ("image", "world")


@dataclass(frozen=True, slots=True)
class Judged:
    """One arm of one clip: truth, raw readings and the product's value and sd, name -> (n,)."""

    about: dict[str, Any]
    side: Side
    seen: NDArray[np.bool_]
    truth: dict[str, Array]
    raw: dict[str, dict[str, Array]]
    value: dict[str, Array]
    sd: dict[str, Array]
    facing: dict[str, NDArray[np.int8]]

    @property
    def arm_yaw_deg(self) -> float:
        """0 front, 90 with this arm's side to the camera, -90 with the other side to it."""
        return arm_yaw_deg(self.about, self.side)

    @property
    def group(self) -> str:
        """The view group that tables are made by."""
        return view_group(self.about, self.side)


def judge(clip: Clip) -> list[Judged]:
    """Both arms of a made clip against the truth."""
    track = track_of(clip)
    posture, table = posture_from(track), measure_track(track)
    learned = learned_estimate(posture)
    judged = []
    for side in SIDES:
        truth = arm_truth(clip, side)
        series = {name: table.series(name, side) for name in (*ARM, "upper_arm_to_vertical")}
        series |= {name: table.series(name) for name in (*TRUNK, "body_line")}
        series["rise"] = learned.arms[side].series["rise"]
        if side == "left":
            for name in ("trunk_lean_side", "trunk_turn"):
                truth[name] = -truth[name]
        judged.append(
            Judged(
                clip.about,
                side,
                (visibility(posture, side) >= SEEN) & np.isfinite(posture.image[:, 0, 0]),
                truth,
                _raw(posture, side),
                {name: s.value for name, s in series.items()},
                {name: s.sd for name, s in series.items()},
                facing(clip, side, arm_yaw_deg(clip.about, side)),
            )
        )
    return judged


def _raw(posture: Posture, side: Side) -> dict[str, dict[str, Array]]:
    """What the landmarks say without any correction, in the picture and in space."""
    shoulder, elbow, wrist = (posture.image_of(j, side) for j in ("shoulder", "elbow", "wrist"))
    upper = posture.world_of("elbow", side) - posture.world_of("shoulder", side)
    fore = posture.world_of("wrist", side) - posture.world_of("elbow", side)
    down = posture.image_middle("hip") - posture.image_middle("shoulder")
    in_trunk, fore_in_trunk = posture.into_trunk(upper, side), posture.into_trunk(fore, side)
    return {
        "image": {
            "elbow_flexion": angle_between_deg(elbow - shoulder, wrist - elbow),
            "shoulder_elevation": angle_between_deg(elbow - shoulder, down),
        },
        "world": {
            "elbow_flexion": angle_between_deg(upper, fore),
            "shoulder_elevation": elevation_deg(in_trunk),
            "plane_of_elevation": plane_of_elevation_deg(in_trunk),
            "axial_rotation": axial_rotation_deg(in_trunk, fore_in_trunk),
        },
    }


def off(value: Array, truth: Array) -> Array:
    """Error, the short way round."""
    return np.asarray((value - truth + 180) % 360 - 180)


def row(judged: Iterable[Judged], measure: str) -> list[str]:
    """Cells of a table: raw errors, the product's, its coverage, and how often it measured."""
    errors, sds, known, asked = [], [], 0, 0
    raw: dict[str, list[Array]] = {kind: [] for kind in _RAW}
    for one in judged:
        rows = one.seen & np.isfinite(one.truth[measure])
        error, sd = off(one.value[measure], one.truth[measure])[rows], one.sd[measure][rows]
        found = np.isfinite(error) & np.isfinite(sd)
        asked, known = asked + int(rows.sum()), known + int(found.sum())
        errors.append(error[found])
        sds.append(sd[found])
        for kind in _RAW:
            if measure in one.raw[kind]:
                raw[kind].append(off(one.raw[kind][measure], one.truth[measure])[rows])
    if known == 0:
        return ["-"] * len(_HEAD)
    error, sd = np.abs(np.concatenate(errors)), np.concatenate(sds)
    cells = [f"{np.nanmean(np.abs(np.concatenate(raw[k]))):.1f}" if raw[k] else "-" for k in _RAW]
    return [
        *cells,
        f"{error.mean():.1f}",
        f"{np.median(error):.1f}",
        f"{error[sd <= np.quantile(sd, SUREST)].mean():.1f}",
        f"{np.median(sd):.1f}",
        f"{100 * np.mean(error <= sd):.0f}",
        f"{100 * np.mean(error <= 2 * sd):.0f}",
        f"{100 * known / asked:.0f}",
    ]


_HEAD = (
    "raw picture", "raw space", "mean error", "median error", "mean of most certain 85 %", "median sd",
    "% in 1 sd", "% in 2 sd", "% measured",
)  # fmt: skip


_AIMS_HEAD = ("aim, facing", "all", "done right", "aim, otherwise", "all", "done right")


def _by(judged: list[Judged], key: str) -> dict[str, list[Judged]]:
    groups: dict[str, list[Judged]] = {}
    for one in judged:
        name = one.group if key == "view" else str(one.about[key])
        groups.setdefault(name, []).append(one)
    return dict(sorted(groups.items()))


def _fault_rows(judged: list[Judged]) -> Iterable[tuple[str, list[str]]]:
    for measure, faults in FAULTS.items():
        clips = [one for one in judged if one.about["fault"] in faults]
        yield f"{measure}, {' or '.join(faults)}", row(clips, measure)


def _beside_aims(judged: list[Judged]) -> Iterable[tuple[str, list[str]]]:
    """Errors of the SUREST share of the times that have an aim, by whether the plane faces the camera."""
    errors: dict[str, tuple[list[ArmErrors], list[ArmErrors]]] = {}
    for measure in AIMS:
        rows = [
            one.seen & np.isfinite(one.truth[measure]) & (one.facing[measure] >= 0)
            for one in judged
        ]
        pairs = list(zip(judged, rows, strict=True))
        sd = np.concatenate([one.sd[measure][r] for one, r in pairs])
        most = np.nanquantile(np.where(np.isfinite(sd), sd, np.inf), SUREST)
        errors[measure] = ([], [])
        for one, r in pairs:
            error = np.abs(off(one.value[measure], one.truth[measure]))
            sure = r & np.isfinite(error) & (one.sd[measure] <= most)
            right = one.about["fault"] == "none"
            for situation in (0, 1):
                some = error[sure & (one.facing[measure] == situation)]
                errors[measure][situation].append(ArmErrors(some, right))
    return aims_rows(errors)


def report_text(judged: list[Judged], simpler: str, verdicts: str, read_on: str) -> str:
    """The whole report; ``simpler`` is the table of simpler ways, ``verdicts`` that of verdicts."""
    frames = sum(len(one.seen) for one in judged) // 2
    parts = [
        "# How accurate are the measures?\n",
        "Written by `python -m models.calibration.report`; do not edit.\n",
        f"Judged on {len(judged) // 2} rendered clips ({frames} frames) of {read_on}: bodies, cameras, "
        "clothes and rooms that were never used in fitting, doing exercise-like movement with and without "
        "faults. Errors in degrees; `rise` in percent of trunk length (1 % is about half a "
        "centimetre). Only arms that the picture shows count (visibility of shoulder, elbow and "
        f"wrist at least {SEEN}). “Side, far arm” is the arm behind the body.\n",
        "## All views\n",
        table("measure", ((m, row(judged, m)) for m in MEASURES), _HEAD),
        "## Compared with the aims\n",
        "Mean error of people who stand or sit, seen from the front, the side (the near arm) or between, "
        "over the 85 % of times with the smallest uncertainty, compared with the aims that the project "
        "set itself. “Facing”: seen within 30° of square from the front or the side, neither segment "
        f"within {POINTING_DEG:.0f}° of the line of sight, and for elbow and elevation the plane of the "
        f"two segments within {FACING_DEG:.0f}° of square to it. “Otherwise”: all other times. “Done "
        "right”: only clips without a fault. ±: standard error of the mean over arms.\n",
        table("measure", _beside_aims(judged), _AIMS_HEAD),
        "## Where the measure itself is at fault\n",
        "The networks expect movements that look like exercises usually do. Only the clips in which the "
        "measure itself is at fault count here, so this shows how far that expectation hides mistakes.\n",
        table("measure, fault", _fault_rows(judged), _HEAD),
        simpler,
        verdicts,
        repeat_section(),
    ]
    views = _by(judged, "view")
    for measure in MEASURES:
        parts.append(f"## {measure}, by view\n")
        parts.append(table("view", ((g, row(v, measure)) for g, v in views.items()), _HEAD))
    for key in ("posture", "body", "fault"):
        parts.append(f"## Elbow flexion and shoulder elevation, by {key}\n")
        rows = (
            (f"{g}, {m}", row(v, m))
            for g, v in _by(judged, key).items()
            for m in ("elbow_flexion", "shoulder_elevation")
        )
        parts.append(table(key, rows, _HEAD))
    parts.append("## Clip by clip: mean error of either arm's seen times\n")
    parts.append(_clip_table(judged))
    return "\n".join(parts)


def simpler_table(judged: list[Judged], simpler: list[dict[str, dict[str, Array]]]) -> str:
    """Mean error of each way to an angle over the same seen times, by view."""
    views = _by(judged, "view")
    parts = ["## Simpler methods, mean error by view\n"]
    for measure in COMPARED:
        rows = []
        for method in ("raw picture", "raw space", *simpler[0], "formcheck"):
            cells = []
            for group in views:
                errors = [
                    np.abs(off(_reading(one, other, method, measure), one.truth[measure])[one.seen])
                    for one, other in zip(judged, simpler, strict=True)
                    if one.group == group
                ]
                cells.append(f"{np.nanmean(np.concatenate(errors)):.1f}")
            rows.append((method, cells))
        parts.append(table(measure, rows, views))
    return "\n".join(parts)


def verdict_table(found: list[Ruling]) -> str:
    """What formcheck says of each check beside what is true, and whether it comes true."""
    return "\n".join([sections(found), *reliability(found)])


def _reading(one: Judged, simpler: dict[str, dict[str, Array]], method: str, measure: str) -> Array:
    if method.startswith("raw"):
        return one.raw["image" if method == "raw picture" else "world"][measure]
    return one.value[measure] if method == "formcheck" else simpler[method][measure]


def _clip_table(judged: list[Judged]) -> str:
    shown = ("elbow_flexion", "shoulder_elevation", "rise", "trunk_lean_side", "trunk_lean_forward")
    rows = []
    for one in judged:
        a = one.about
        what = f"{a['index']} {one.side}: {a['movement']}, {a['fault']}, {a['posture']}, "
        cells = [row([one], m)[2] for m in shown]
        rows.append((what + f"{a['body']}, {a['yaw_deg']:.0f}°", cells))
    return table("clip", rows, shown)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, help="the made sets")
    parser.add_argument("--sets", nargs="+", default=["judge-2"], help="those that judge")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--real", type=Path, help="a real person filmed by several cameras")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent / "REPORT.md")
    parser.add_argument(
        "--advice", type=Path, default=Path("formcheck/measures/data/view_advice.json")
    )
    arguments = parser.parse_args()
    if not (arguments.data or arguments.real):
        parser.error("--data or --real is needed")
    if arguments.data:
        text, advice = _of_made_sets(arguments.data, arguments.sets, arguments.workers)
        old = arguments.out.read_text("utf-8") if arguments.out.exists() else ""
        kept = (section_in(old, title) for title in (TITLE, FACES_TITLE))
        text = with_sections(text, "\n".join(filter(None, kept)))
        arguments.out.write_text(text, "utf-8")
        arguments.advice.write_text(json.dumps(advice) + "\n", "utf-8")
    if arguments.real:
        report = arguments.out.read_text("utf-8")
        arguments.out.write_text(with_section(report, section_of(arguments.real)), "utf-8")


def _of_made_sets(data: Path, sets: Sequence[str], workers: int) -> tuple[str, dict[str, Any]]:
    """The report, but for the section on a real person, and the view advice."""
    clips = list(_clips(data, sets))
    with get_context("spawn").Pool(workers) as pool:
        judged = [one for both in pool.imap(judge, clips) for one in both]
        held_out = [one for both in pool.imap(judge, _clips(data, SCALED_ON)) for one in both]
    found = all_rulings(clips, workers)
    beside = simpler_table(judged, simpler_estimates(data, clips))
    text = report_text(judged, beside, verdict_table(found), " and ".join(sets))
    return text, view_advice(judged + held_out)


def _clips(data: Path, sets: Iterable[str]) -> Iterator[Clip]:
    for name in sets:
        yield from clips_of(data, name)


if __name__ == "__main__":
    main()
