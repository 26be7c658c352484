import json
from dataclasses import replace
from datetime import date

import av
import numpy as np
import pytest
from jsonschema import Draft202012Validator

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.clips.sound import has_sound
from formcheck.errors import OutputError, UsageError
from formcheck.measures.table import MeasureTable, View
from formcheck.pipeline.check import Checked
from formcheck.pipeline.settings import Settings
from formcheck.sheets.export.result_json import result_schema
from formcheck.sheets.options import SheetOptions
from formcheck.sheets.video.encoder import ClipWriter
from formcheck.sheets.write import write_sheets
from tests.clips.sounding import write_sounding


@pytest.fixture(scope="module")
def clip_path(frames, tmp_path_factory):
    path = tmp_path_factory.mktemp("clips") / "raise.mp4"
    with ClipWriter(path) as writer:
        for frame in frames[::5]:
            writer.add(frame.time_s, frame.image)
    return path


@pytest.fixture
def write(result, exercise, table, track, clip_path, tmp_path):
    def written(**options):
        checked = Checked(
            options.pop("result", result),
            exercise,
            options.pop("table", table),
            track,
            clip_path,
            options.pop("settings", Settings()),
        )
        sheets = SheetOptions(alias="Heron", made_on=date(2026, 11, 25), **options)
        write_sheets(checked, tmp_path / "out" / "raise", sheets)
        return tmp_path / "out" / "raise"

    return written


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


@pytest.mark.slow
def test_a_checked_clip_gets_its_pages_tables_and_data(write):
    folder = write(pdf=False)
    assert names(folder) == ["coach.html", "measures.csv", "reps.csv", "result.json", "sheet.html"]
    document = json.loads((folder / "result.json").read_text("utf-8"))
    Draft202012Validator(result_schema()).validate(document)
    assert "<img" in (folder / "sheet.html").read_text("utf-8")


@pytest.mark.slow
def test_printed_pages_and_the_annotated_clip_are_added_on_request(write):
    folder = write(video=True, fhir=True)
    assert {"sheet.pdf", "coach.pdf", "annotated.mp4", "observations.json"} <= set(names(folder))
    assert 'src="annotated.mp4"' in (folder / "sheet.html").read_text("utf-8")
    with av.open(str(folder / "annotated.mp4")) as container:
        assert container.streams.video[0].frames == 72


@pytest.mark.slow
def test_single_file_pages_carry_the_clip_in_themselves(write):
    folder = write(video=True, single_file=True, pdf=False)
    assert "annotated.mp4" not in names(folder)
    for page in ("sheet.html", "coach.html"):
        assert 'id="clip-data"' in (folder / page).read_text("utf-8")


@pytest.mark.slow
def test_writing_again_without_the_clip_leaves_no_stale_clip_behind(write):
    write(video=True, pdf=False)
    assert "annotated.mp4" not in names(write(pdf=False))


def test_a_clip_that_could_not_be_judged_gets_its_reasons_only(write, result):
    empty = np.empty(0)
    nothing = MeasureTable(
        time_s=empty,
        columns={},
        view=View(MeasuredView.UNKNOWN, float("nan"), float("nan")),
        arm_paths={},
        moving_about=empty.astype(bool),
        bridged=empty.astype(bool),
    )
    problem = RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever")
    unusable = replace(
        result, usable=False, reps=(), problems=(problem,), view=nothing.view, side="unknown"
    )
    folder = write(result=unusable, table=nothing)
    assert names(folder) == ["result.json", "sheet.html"]
    assert "Nobody was found in the picture." in (folder / "sheet.html").read_text("utf-8")
    Draft202012Validator(result_schema()).validate(
        json.loads((folder / "result.json").read_text("utf-8"))
    )


def test_a_clip_without_one_repetition_still_gets_its_sheet(write, result):
    nothing = replace(
        result, reps=(), summary=replace(result.summary, cues=(), praise=None, score=None)
    )
    folder = write(result=nothing)
    text = (folder / "sheet.html").read_text("utf-8")
    assert "No whole repetition could be counted" in text
    assert "Keep going as you are" not in text
    assert "sheet.pdf" in names(folder)


@pytest.mark.slow
def test_no_page_tells_where_on_the_machine_the_clip_lies(write, clip_path):
    folder = write(video=True)
    for path in folder.iterdir():
        assert str(clip_path.parent).encode() not in path.read_bytes()


def test_a_file_in_the_way_stops_it_before_anything_is_written(write, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "raise").write_text("in the way")
    with pytest.raises(OutputError):
        write()
    assert names(tmp_path / "out") == ["raise"]


def test_an_unknown_locale_is_refused_before_anything_is_written(write, tmp_path):
    with pytest.raises(UsageError):
        write(locale="xx")
    assert not (tmp_path / "out" / "raise").exists()


@pytest.fixture
def write_with_sound(result, exercise, table, track, tmp_path):
    def written(**options):
        clip = write_sounding(tmp_path / "raise.mp4")
        checked = Checked(result, exercise, table, track, clip, Settings())
        sheets = SheetOptions(pdf=False, video=True, **options)
        write_sheets(checked, tmp_path / "out" / "raise", sheets)
        return tmp_path / "out" / "raise"

    return written


@pytest.mark.slow
@pytest.mark.parametrize("kept", [False, True])
def test_the_annotated_clip_has_the_sound_only_if_that_was_asked_for(write_with_sound, kept):
    folder = write_with_sound(keep_sound=kept)
    assert has_sound(folder / "annotated.mp4") is kept
    page = (folder / "sheet.html").read_text("utf-8")
    assert ("The sound goes along with the clip, as asked" in page) is kept


@pytest.mark.slow
def test_a_clip_without_sound_stays_without_and_its_page_says_so(write):
    folder = write(video=True, keep_sound=True, pdf=False)
    assert not has_sound(folder / "annotated.mp4")
    assert "goes along with the clip" not in (folder / "sheet.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"video": False}, "add --video"),
        ({"video": True, "settings": Settings(speed=0.5)}, "sound does not stretch"),
    ],
)
def test_sound_that_cannot_be_kept_is_one_clear_line_before_any_work(write, tmp_path, options, why):
    with pytest.raises(UsageError, match=why):
        write(keep_sound=True, **options)
    assert not (tmp_path / "out").exists()


def test_with_a_german_locale_the_clients_page_is_german_and_a_draft_the_coachs_english(write):
    folder = write(locale="de-CH")
    client, coach = ((folder / name).read_text("utf-8") for name in ("sheet.html", "coach.html"))
    assert '<html lang="de" dir="ltr">' in client
    assert "Entwurf: Diese Übersetzung hat noch niemand" in client
    assert "Was Sie gemacht haben" in client
    assert "25. November 2026" in client
    assert '<span lang="en">Scaption raise</span>' in client  # no German words for this exercise
    assert '<html lang="en" dir="ltr">' in coach
    assert "Entwurf" not in coach
    assert "At a glance" in coach
