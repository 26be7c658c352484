"""Clips whose names say whose they are, what they show and when: read, told, and asked about."""

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import cast

from formcheck.batch.job import Job
from formcheck.batch.sources.recorded import Ask, Prescribed
from formcheck.clip_name import PARTS, ClipName, Reading, client_in, read_clip_name
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.schema import Exercise
from formcheck.pipeline.settings import SideChoice
from formcheck.words.words import words_for


def with_name(
    job: Job, ask: Ask | None = None, prescribed: Prescribed | None = None
) -> tuple[Job, str]:
    """The job with what the clip's name says, and a line that tells what was read.

    The clients and the exercises that are ``prescribed`` are known names as well.

    What the name leaves in doubt is asked about; if nobody can be asked, or the answer is no, it is
    not used. An exercise or a side that the job already has stays. The line is empty if the name
    says nothing.
    """
    stem, clients = Path(job.shown).stem, prescribed.clients if prescribed else ()
    own = _own(stem, prescribed)
    known = tuple(dict.fromkeys((*_library(), *own)))
    name = read_clip_name(stem, exercises=known, clients=clients, today=date.today())
    if name is None:
        return job, ""
    if job.exercise is not None:
        name = replace(name, exercise=Reading(job.exercise.name))
    if job.side is not None:
        name = replace(name, side=Reading(job.side))
    name = _asked(job, name, ask) if ask else name
    said, exercise = {part: name.sure(part) for part in PARTS}, job.exercise
    if exercise is None and said["exercise"]:
        exercise = own.get(said["exercise"]) or load_exercise(said["exercise"])
    side = cast(SideChoice, said["side"]) if said["side"] else None
    named = replace(
        job,
        client=said["client"],
        exercise=exercise,
        side="both" if side and exercise and exercise.arms == "both" else side,
        made_on=date.fromisoformat(said["day"]) if said["day"] else None,
    )
    return named, _told(job, name)


def _own(stem: str, prescribed: Prescribed | None) -> dict[str, Exercise]:
    """The exercises that were prescribed for the client in a name, by name."""
    client = client_in(stem, prescribed.clients) if prescribed else ""
    return prescribed.exercises(client) if prescribed and client else {}


def _asked(job: Job, name: ClipName, ask: Ask) -> ClipName:
    """The name with each doubtful part made sure, or left out, by an answer."""
    words = words_for("en")
    for part in name.unsure:
        value = name.of(part).value
        question = words(f"clip_name.ask_{part}", clip=job.shown, value=_shown(part, value))
        answer = Reading(value if ask(question) else "")
        name = replace(name, **{part: answer})
    return name


def _told(job: Job, name: ClipName) -> str:
    words = words_for("en")
    read = [_shown(part, value) for part in PARTS if (value := name.sure(part))]
    doubtful = [
        words(f"clip_name.{part}", value=_shown(part, name.of(part).value)) for part in name.unsure
    ]
    line = words("clip_name.read", clip=job.shown, read=", ".join(read) or words("clip_name.none"))
    if doubtful:
        line = f"{line} {words('clip_name.unsure', parts=', '.join(doubtful))}"
    return line


def _shown(part: str, value: str) -> str:
    words = words_for("en")
    if part == "side":
        return words(f"side.{value}")
    return words.date(date.fromisoformat(value)) if part == "day" else value


@cache
def _library() -> tuple[str, ...]:
    return library_names()
