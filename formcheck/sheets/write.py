"""The package's entry point: a checked clip in, a folder of sheets out, whole or not at all."""

import base64
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from formcheck.atomic_output import whole_folder
from formcheck.catalogue.codes import ProblemCode
from formcheck.clips.reader import ClipReader, open_clip
from formcheck.clips.sound import has_sound, read_sound
from formcheck.exercises.schema import Exercise
from formcheck.heap import hand_back
from formcheck.landmarks.track import LandmarkTrack
from formcheck.pipeline.check import Checked
from formcheck.pipeline.settings import Settings
from formcheck.sheets.export.csv_tables import write_measures_csv, write_reps_csv
from formcheck.sheets.export.fhir import observations, write_observations
from formcheck.sheets.export.result_json import write_result_json
from formcheck.sheets.options import SheetOptions, validate_options
from formcheck.sheets.pages.moments import Moment, Still, moments_of
from formcheck.sheets.pages.sheet import Heading, Sheet, gather_sheet, heading_of, unusable_page
from formcheck.sheets.render.html import (
    ClipLink,
    client_html,
    coach_html,
    load_templates,
    unusable_html,
)
from formcheck.sheets.render.pdf import client_pdf, coach_pdf
from formcheck.sheets.video.annotate import ANNOTATED_SIDE_PX, annotate
from formcheck.sheets.video.overlay_plan import OverlayPlan, plan_overlay
from formcheck.sheets.video.people import still_of_people
from formcheck.sheets.video.second_picture import SecondPicture
from formcheck.sheets.video.stills import DECODE_SIDE_PX, beside, take_stills
from formcheck.words.words import Words, words_for

ANNOTATED_NAME = "annotated.mp4"
LIST_PICTURE = "still.jpg"


def write_sheets(
    checked: Checked, out_dir: str | Path, options: SheetOptions | None = None
) -> None:
    """Write all outputs of one checked clip into ``out_dir``, replacing an earlier result there.

    ``result.json``, ``measures.csv``, ``reps.csv``, the client's page as ``sheet.html`` and
    ``sheet.pdf``, the coach's as ``coach.html`` and ``coach.pdf``, and on request
    ``annotated.mp4`` and ``observations.json``. A clip that could not be judged gets
    ``result.json`` and a short ``sheet.html`` that says why; its ``exercise`` may be None.

    Raises
    ------
    OutputError
        The folder cannot be written, or holds the result of another clip or something that
        formcheck did not make.
    UsageError
        The locale is unknown, or the sound cannot be kept as asked.
    ClipError
        The clip can no longer be read.
    """
    options = options or SheetOptions()
    validate_options(options, checked.settings)
    result, exercise, table = checked.result, checked.exercise, checked.table
    words = words_for(options.locale)
    coach_words = words_for(options.locale, "en")  # other languages have the client's page only
    sound = options.keep_sound and result.usable and has_sound(checked.clip)

    def heading_in(each: Words) -> Heading:
        return heading_of(result, exercise, each, keep_sound=sound, **_of_heading(options))

    with whole_folder(Path(out_dir), result.clip.sha256, share=options.share) as folder:
        write_result_json(result, folder / "result.json", options)
        if not result.usable or exercise is None:
            text = _unusable(checked, heading_in(words), words, options)
            _write_text(folder / "sheet.html", text)
            return
        with _in_background(
            partial(write_measures_csv, table, folder / "measures.csv"),
            partial(write_reps_csv, result, folder / "reps.csv"),
            load_templates,
        ):
            stills = _stills(checked, exercise, options)
        hand_back()
        sheet_in = partial(gather_sheet, result, table, exercise, stills=stills, note=options.note)
        client = coach = sheet_in(heading=heading_in(words), words=words)
        if coach_words != words:
            coach = sheet_in(heading=heading_in(coach_words), words=coach_words)
        link = None
        if options.video:
            plan = plan_overlay(result, table, exercise, checked.track, words)
            link = _annotated(plan, checked, folder, options, sound=sound)
        if options.all_clips:
            _write_list_picture(coach, folder)
        _write_pages((client, words), (coach, coach_words), link, folder, options)
        if options.fhir:
            bundle = observations(result, coach_words, options.alias)
            write_observations(bundle, folder / "observations.json")


def _of_heading(options: SheetOptions) -> dict[str, Any]:
    """The options that head and foot of every page are made from."""
    names = ("alias", "made_on", "show_face", "answer", "most_pain")
    return {name: getattr(options, name) for name in names}


@contextmanager
def _in_background(*work: Callable[[], None]) -> Iterator[None]:
    """Do some work while the block runs: decoding a clip leaves a second core free."""
    with ThreadPoolExecutor(1) as pool:
        submitted = [pool.submit(one) for one in work]
        yield
        for one in submitted:
            one.result()


def _write_pages(
    client: tuple[Sheet, Words],
    coach: tuple[Sheet, Words],
    link: ClipLink | None,
    folder: Path,
    options: SheetOptions,
) -> None:
    """Write all pages at once: typst releases the interpreter lock while it works."""
    paper = options.paper or client[1].formats.paper
    pages: dict[str, Callable[[], Iterable[bytes]]] = {}
    if options.pdf:
        pages["sheet.pdf"] = lambda: [client_pdf(*client, paper)]
        pages["coach.pdf"] = lambda: [coach_pdf(*coach, paper)]
    pages["sheet.html"] = lambda: map(str.encode, client_html(*client, link))
    pages["coach.html"] = lambda: map(str.encode, coach_html(*coach, link, options.all_clips))

    def write(name: str) -> None:
        with (folder / name).open("wb") as file:
            file.writelines(pages[name]())

    with ThreadPoolExecutor(len(pages)) as pool:
        for done in [pool.submit(write, name) for name in pages]:
            done.result()


def _write_list_picture(sheet: Sheet, folder: Path) -> None:
    """The picture that stands for the clip in a list: of its cue, or of what to open first."""
    keys = [cue.picture for cue in sheet.coach.cues]
    keys += [sheet.coach.open_first.picture] if sheet.coach.open_first else []
    keys += [rep.picture for rep in sheet.coach.reps]
    shown = next((sheet.stills[key] for key in keys if key in sheet.stills), None)
    if shown:
        (folder / LIST_PICTURE).write_bytes(shown.jpeg)


def _open(checked: Checked) -> ClipReader:
    """The clip, opened with the settings that it was checked with."""
    settings = checked.settings
    return open_clip(checked.clip, mirrored=settings.mirrored, speed=settings.speed)


def _stills(checked: Checked, exercise: Exercise, options: SheetOptions) -> dict[str, Still]:
    moments = moments_of(checked.result, exercise, checked.table)
    stills = _stills_of(checked.clip, checked.track, moments, checked.settings, options)
    second = checked.second
    if second is None:
        return stills
    at_s = {key: second.clock.of(np.array(still.time_s)) for key, still in stills.items()}
    moments = {key: Moment(float(at_s[key]), moments[key].close_up) for key in stills}
    return beside(stills, _stills_of(second.clip, second.track, moments, checked.settings, options))


def _stills_of(
    path: Path,
    track: LandmarkTrack,
    moments: Mapping[str, Moment],
    settings: Settings,
    options: SheetOptions,
) -> dict[str, Still]:
    with open_clip(path, mirrored=settings.mirrored, speed=settings.speed, threads=2) as clip:
        frames = clip.frames(max_side_px=DECODE_SIDE_PX)  # only those that are taken become RGB
        return take_stills(frames, track, moments, show_face=options.show_face)


def _unusable(checked: Checked, heading: Heading, words: Words, options: SheetOptions) -> str:
    page = unusable_page(checked.result, checked.exercise, words)
    return unusable_html(page, heading, words, _people(checked, options))


def _people(checked: Checked, options: SheetOptions) -> Still | None:
    """The people of a clip that does not tell who is meant, numbered."""
    problems = checked.result.problems
    choice = next((one for one in problems if one.code == ProblemCode.WHO_IS_MEANT), None)
    if choice is None:
        return None
    with _open(checked) as clip:
        frames = clip.frames(max_side_px=DECODE_SIDE_PX)
        return still_of_people(frames, checked.track, choice, show_face=options.show_face)


def _annotated(
    plan: OverlayPlan, checked: Checked, folder: Path, options: SheetOptions, *, sound: bool
) -> ClipLink:
    """Write the annotated clip; as a file beside the pages or taken into them."""
    path = folder / ANNOTATED_NAME
    with _open(checked) as clip, _second_picture(plan, checked, options) as second:
        frames = clip.frames(max_side_px=ANNOTATED_SIDE_PX)
        heard = read_sound(checked.clip) if sound else ()
        width, height, jpeg = annotate(
            frames,
            plan,
            path,
            show_face=options.show_face,
            sound=heard,
            poster_s=plan.poster_s,
            second=second,
        )
        poster = "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii")
        duration_s = clip.report.duration_s
    if not options.single_file:
        return ClipLink(width, height, duration_s, src=ANNOTATED_NAME, sound=sound, poster=poster)
    data = base64.b64encode(path.read_bytes()).decode("ascii")
    path.unlink()
    return ClipLink(width, height, duration_s, data=data, sound=sound, poster=poster)


@contextmanager
def _second_picture(
    plan: OverlayPlan, checked: Checked, options: SheetOptions
) -> Iterator[SecondPicture | None]:
    """The second camera's pictures, if there was one."""
    second, settings = checked.second, checked.settings
    if second is None:
        yield None
        return
    with open_clip(second.clip, mirrored=settings.mirrored, speed=settings.speed) as clip:
        frames = clip.frames(max_side_px=ANNOTATED_SIDE_PX)
        yield SecondPicture(frames, second.track, second.clock, plan.chains, options.show_face)


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
