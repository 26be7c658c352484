"""Two clips of one set give one result, and two with the reason where they cannot be joined."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from formcheck import FormcheckError, SheetOptions, check_together, result_schema, write_sheets
from formcheck.catalogue.codes import ProblemCode, Verdict
from formcheck.catalogue.problems import RecordingProblem
from formcheck.cli.app import app
from formcheck.pipeline import together
from formcheck.pipeline.in_turn import (
    better_film,
    check_in_turn,
    contradictions,
    without_checks,
)
from formcheck.pipeline.selection import candidates_for
from formcheck.views.exchanges import with_sides
from formcheck.words.words import words_for
from tests.known_clips import write_known_clip
from tests.synthetic import Arm, constant, cycles
from tests.views.two_cameras import Phone, filmed

pytestmark = pytest.mark.slow

CURVE = {"up_s": 1.2, "top_s": 0.8, "down_s": 1.2}
RAISE = Arm(
    elevation=cycles([2.2, 5.9, 9.6], 8, 92, **CURVE), plane=constant(35.0), elbow=constant(8.0)
)
LATER_S = 0.8


def clips(tmp_path, monkeypatch, *tracks, claps_s=(None, None)):
    """The tracks as clips, silent or with claps at the times of each clip's own clock."""
    cache = tmp_path / "cache"
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(cache))
    return [
        write_known_clip(tmp_path / f"{name}.mp4", track, cache, claps_s=claps)
        for name, track, claps in zip(("front", "side"), tracks, claps_s, strict=True)
    ]


def finding(name, uncertainty, verdict=Verdict.WITHIN):
    """One check of one repetition, not measurable without an uncertainty."""
    verdict = verdict if uncertainty else Verdict.NOT_MEASURABLE
    return SimpleNamespace(id=name, measure=name, verdict=verdict, uncertainty=uncertainty)


@pytest.fixture
def pair(tmp_path, monkeypatch):
    tracks = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    return clips(tmp_path, monkeypatch, *tracks)


def test_one_result_comes_from_both_and_says_how_they_fit(pair):
    (checked,) = check_together(pair, "scaption-raise")
    assert checked.clip.name == "front.mp4"
    assert sum(not judged.rep.partial for judged in checked.result.reps) == 3
    second = checked.result.second
    assert second.clip.file == "side.mp4"
    assert second.angle_deg == pytest.approx(70, abs=1)
    assert second.offset_s == pytest.approx(-LATER_S, abs=0.01)
    told = words_for("en").tell(second.message)
    assert "0.8 s later" in told
    assert "70°" in told


@pytest.mark.parametrize("check", [check_together, check_in_turn])
def test_both_clips_are_measured_by_the_clients_own_height(pair, check):
    (candidate,) = candidates_for("scaption-raise", side="right")
    prescribed = replace(candidate, prescription=SimpleNamespace(stature_cm=190.0))
    for checked in check(pair, candidates=[prescribed]):
        assert checked.settings.stature_m == 1.9


def test_the_sheets_show_both_cameras_and_the_line(pair, tmp_path):
    (checked,) = check_together(pair, "scaption-raise")
    write_sheets(checked, tmp_path / "both", SheetOptions(pdf=False))
    result = json.loads((tmp_path / "both/result.json").read_text("utf-8"))
    Draft202012Validator(result_schema()).validate(result)
    assert result["second_camera"]["clip"]["file"] == "side.mp4"
    for page in ("sheet.html", "coach.html"):
        assert result["second_camera"]["message"] in (tmp_path / "both" / page).read_text("utf-8")


CLAPS_S = ([1.0], [1.0 - LATER_S])


@pytest.fixture
def held():
    """Both tracks of a hold, in which nothing tells how much later one phone was started."""
    still = Arm(elevation=constant(40.0), plane=constant(60.0), elbow=constant(95.0))
    later = Phone(yaw_deg=70)
    return filmed(Phone(), later, later_s=LATER_S, duration_s=14, right=still)


def test_a_clap_that_both_phones_heard_times_a_set_in_which_nothing_moves(
    tmp_path, monkeypatch, held
):
    pair = clips(tmp_path, monkeypatch, *held, claps_s=CLAPS_S)
    (checked,) = check_together(pair, "belly-press", side="right")
    assert checked.result.second.timed_by == "sound"
    assert checked.result.second.offset_s == pytest.approx(-LATER_S, abs=0.05)


@pytest.mark.parametrize(
    ("claps_s", "told"),
    [
        ((None, None), "no sound in front.mp4 and side.mp4"),
        (([1.0], None), "no sound in side.mp4"),
        (([1.0], []), "Clap once in front of both phones"),
    ],
)
def test_without_a_clap_on_both_it_is_refused_and_says_what_was_lacking(
    tmp_path, monkeypatch, held, claps_s, told
):
    pair = clips(tmp_path, monkeypatch, *held, claps_s=claps_s)
    for checked in check_together(pair, "belly-press", side="right"):
        (problem,) = [p for p in checked.result.problems if p.code is ProblemCode.VIEWS_NOT_TIMED]
        assert told in words_for("en").tell(problem.message)


def test_a_clap_of_another_set_gives_way_to_the_movement(tmp_path, monkeypatch):
    tracks = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    pair = clips(tmp_path, monkeypatch, *tracks, claps_s=([1.0], [3.0]))
    (checked,) = check_together(pair, "scaption-raise")
    assert checked.result.second.timed_by == "movement"
    assert checked.result.second.one_set_by == "movement"
    assert checked.result.second.offset_s == pytest.approx(-LATER_S, abs=0.01)


def test_the_command_hears_the_clap(tmp_path, monkeypatch):
    tracks = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    pair = clips(tmp_path, monkeypatch, *tracks, claps_s=CLAPS_S)
    how = ["--together", "--exercise", "scaption-raise", "--no-pdf", "--out", str(tmp_path / "out")]
    done = CliRunner().invoke(app, ["check", *map(str, pair), *how])
    assert done.exit_code == 0, done.output
    assert "0.8 s later" in " ".join(done.output.split())
    result = json.loads((tmp_path / "out/front-with-side/result.json").read_text("utf-8"))
    Draft202012Validator(result_schema()).validate(result)
    assert result["second_camera"]["timed_by"] == "sound"


def test_clips_that_do_not_fit_give_two_results_with_the_reason(tmp_path, monkeypatch):
    front, beside = filmed(Phone(), Phone(yaw_deg=4), duration_s=14, right=RAISE)
    found = check_together(clips(tmp_path, monkeypatch, front, beside), "scaption-raise")
    assert [checked.clip.name for checked in found] == ["front.mp4", "side.mp4"]
    for checked in found:
        assert checked.second is None
        assert ProblemCode.SAME_VIEW_TWICE in [one.code for one in checked.result.problems]


def test_one_set_during_which_a_phone_was_moved_is_judged_in_turn(tmp_path, monkeypatch):
    front, side = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    moved = filmed(Phone(), Phone(yaw_deg=100), later_s=LATER_S, duration_s=14, right=RAISE)[1]
    late = (side.time_s > 7)[:, None, None]
    changed = replace(
        side,
        image_px=np.where(late, moved.image_px, side.image_px),
        world_m=np.where(late, moved.world_m, side.world_m),
    )
    found = check_together(clips(tmp_path, monkeypatch, front, changed), "scaption-raise")
    assert len(found) == 2
    for checked in found:
        (told,) = [p for p in checked.result.problems if p.code is ProblemCode.VIEWS_DO_NOT_FIT]
        assert "judged in the clip that shows it better" in words_for("en").tell(told.message)
    codes = [one.code for checked in found for one in checked.result.problems]
    assert ProblemCode.JUDGED_IN_OTHER_FILM in codes


def test_sides_that_one_clip_leaves_open_are_told_by_the_other(tmp_path, monkeypatch):
    front, side = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    wrong = np.isin(np.arange(len(side.time_s)) // 20, (2, 5, 6, 11, 15))
    unknown = RecordingProblem(ProblemCode.LEFT_RIGHT_UNKNOWN, fatal=True)
    spoilt = replace(with_sides(side, side.time_s, wrong), problems=(unknown,))
    (checked,) = check_together(clips(tmp_path, monkeypatch, front, spoilt), "scaption-raise")
    assert checked.result.usable
    assert ProblemCode.LEFT_RIGHT_UNKNOWN not in [one.code for one in checked.result.problems]
    assert np.abs(checked.second.track.image_px - side.image_px)[5:-5].mean() < 1.0


@pytest.mark.parametrize("apart_s", [-LATER_S - 1.0, 3600.0])
def test_the_files_own_times_tell_one_set_or_two(pair, monkeypatch, apart_s):
    begun = {
        "front.mp4": datetime(2026, 3, 1, 10, tzinfo=UTC),
        "side.mp4": datetime(2026, 3, 1, 10, tzinfo=UTC) - timedelta(seconds=apart_s),
    }
    monkeypatch.setattr(together, "begun_at", lambda path: begun[path.name])
    first = check_together(pair, "scaption-raise")[0].result
    if apart_s < 0:
        assert first.second.one_set_by == "recording times"
        assert "both files" in words_for("en").tell(first.second.taken_for_one_set)
    else:
        assert ProblemCode.VIEWS_RECORDED_APART in [one.code for one in first.problems]


def test_a_clip_whose_partner_cannot_be_judged_says_so(tmp_path, monkeypatch):
    front, side = filmed(Phone(), Phone(yaw_deg=70), later_s=LATER_S, duration_s=14, right=RAISE)
    nobody = RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever")
    nothing = replace(side, problems=(nobody,))
    good, bad = check_together(clips(tmp_path, monkeypatch, front, nothing), "scaption-raise")
    assert (good.result.usable, bad.result.usable) == (True, False)
    (told,) = [p for p in good.result.problems if p.code is ProblemCode.OTHER_CLIP_UNUSABLE]
    assert "side.mp4" in words_for("en").tell(told.message)
    assert ProblemCode.OTHER_CLIP_UNUSABLE not in [one.code for one in bad.result.problems]


@pytest.mark.parametrize("count", [1, 3])
def test_other_than_two_clips_are_refused_in_one_line(count):
    with pytest.raises(FormcheckError, match=f"{count} were given"):
        check_together(["a.mp4"] * count, "scaption-raise")


def test_of_two_films_each_check_is_judged_in_the_one_that_shows_it_better():
    exercise = candidates_for("scaption-raise")[0].exercise
    checks = [check.id for _, check in exercise.all_checks]
    first = {(None, name): [finding(name, 5.0)] for name in checks}
    second = {(None, name): [finding(name, 5.0)] for name in checks}
    second[None, "elbow"] = [finding("elbow", 3.0)]
    first[None, "plane"] = [finding("plane", None)]
    better = better_film(exercise, first, second)
    assert {name for (_, name), film in better.items() if film == 1} == {"elbow", "plane"}
    mine = without_checks(exercise, {key for key, film in better.items() if film == 1})
    assert [check.id for _, check in mine.all_checks] == [
        name for name in checks if name not in ("elbow", "plane")
    ]


def test_a_film_that_shows_nothing_better_is_a_second_opinion(pair):
    candidates = candidates_for("scaption-raise", side="right")
    front, side = check_in_turn(pair, candidates=candidates)
    for film in (front, side):
        judged = {finding.id for one in film.result.reps for finding in one.findings}
        assert judged == {check.id for _, check in candidates[0].exercise.all_checks}
    assert ProblemCode.JUDGED_IN_OTHER_FILM in [one.code for one in side.result.problems]


def test_films_that_disagree_say_so():
    within, outside = finding("height", 5.0), finding("height", 5.0, Verdict.OUTSIDE)
    unsure = finding("height", 9.0, Verdict.BORDERLINE)
    key = (None, "height")
    (problem,) = contradictions({key: [within] * 3}, {key: [outside] * 3}, ["a.mp4", "b.mp4"])
    assert problem.code is ProblemCode.FILMS_DISAGREE
    assert problem.params == {"measure": "height", "file": "b.mp4"}
    assert not contradictions({key: [within] * 3}, {key: [unsure] * 3}, ["a.mp4", "b.mp4"])
    assert not contradictions({key: [within, outside]}, {key: [outside] * 2}, ["a.mp4", "b.mp4"])
