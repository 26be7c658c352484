"""The section of the report on a real person: kept apart, and only sure truth counts."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from models.calibration import real
from models.calibration.real import AGREE_DEG, Reading
from tests.synthetic import make_track


def truths(**columns):
    """Columns of truth of three pictures, 40 degrees unless stated otherwise."""
    names = [n for m in AGREE_DEG for n in ((m,) if "lean" in m else (f"{m}_left", f"{m}_right"))]
    return dict.fromkeys(names, np.full(3, 40.0)) | {k: np.array(v) for k, v in columns.items()}


def test_truth_counts_only_where_both_agree_and_is_their_mean():
    agreed = real._agreed(truths(), truths(elbow_flexion_left=[46.0, 40.0, 60.0]))
    np.testing.assert_allclose(agreed["elbow_flexion_left"], [43.0, 40.0, np.nan])


def test_planes_agree_the_short_way_round():
    one = truths(plane_of_elevation_left=[175.0, 175.0, 175.0])
    agreed = real._agreed(one, truths(plane_of_elevation_left=[-175.0, -165.0, 175.0]))
    np.testing.assert_allclose(agreed["plane_of_elevation_left"], [180.0, np.nan, 175.0])


def test_the_plane_counts_only_off_the_poles():
    truth = truths(shoulder_elevation_left=[10.0, 90.0, 170.0])
    assert real._counts(truth, "plane_of_elevation", "left").tolist() == [False, True, False]


def test_errors_are_told_with_how_many_were_measured():
    readings = [Reading("elbow_flexion", v, 5.0, 40.0) for v in (44.0, 38.0, 70.0, np.nan)]
    assert real._cells(readings) == ["4", "12.0", "+10.7", "5.0", "67", "75"]


def test_what_is_not_measured_has_no_error():
    assert real._cells([Reading("elbow_flexion", np.nan, 5.0, 40.0)])[:2] == ["1", "-"]


def test_a_new_section_takes_the_place_of_the_old_and_touches_nothing_else():
    once = real.with_section("# Report\n\nrendered\n", f"{real.TITLE}\n\nold\n")
    twice = real.with_section(once, f"{real.TITLE}\n\nnew\n")
    assert twice == f"# Report\n\nrendered\n\n{real.TITLE}\n\nnew\n"
    assert real.section_in(twice) == f"{real.TITLE}\n\nnew\n"
    assert real.section_in("# Report\n") is None
    later = twice + "\n## Something else\n"
    thrice = real.with_section(later, f"{real.TITLE}\n\nnewer\n")
    assert thrice == later.replace("new\n", "newer\n")


def test_a_folder_without_videos_is_refused(tmp_path):
    for made in ("published", "triangulated"):
        names = list(truths())
        rows = [",".join(names), *[",".join(["40"] * len(names))] * 3]
        (tmp_path / f"truth_{made}.csv").write_text("\n".join(rows))
    with pytest.raises(ValueError, match="no videos"):
        real.section_of(tmp_path)


def test_a_clip_that_is_refused_is_no_part_of_what_is_read(tmp_path, monkeypatch):
    good = make_track(duration_s=2.0)
    bad = RecordingProblem(ProblemCode.LEFT_RIGHT_UNKNOWN, fatal=True)
    tracks = {"cam01.mp4": good, "cam02.mp4": replace(good, problems=(bad,))}
    (tmp_path / "videos").mkdir()
    for name in tracks:
        (tmp_path / "videos" / name).touch()
    columns = truths()
    lines = [",".join(columns), *(",".join(["8"] * len(columns)) for _ in range(60))]
    for made in ("published", "triangulated"):
        (tmp_path / f"truth_{made}.csv").write_text("\n".join(lines))
    monkeypatch.setattr(
        real, "track_clip", lambda path, _: SimpleNamespace(track=tracks[path.name])
    )
    read, refused = real.section_of(tmp_path).split("1 of these clips formcheck refuses")
    assert refused.startswith(" (left-right-unknown)")
    for part in (read, refused):
        assert "| elbow_flexion | 24 |" in part  # every fifth of 60 pictures, two arms
