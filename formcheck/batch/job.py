"""What the parts of a batch tell each other: jobs and setup one way, outcomes the other.

All of it travels as JSON, so that a worker is given data and never code.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import TypeAdapter

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.clips.types import ClipLimits
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Exercise
from formcheck.pipeline.selection import Candidate, candidates_for, candidates_of
from formcheck.pipeline.settings import Settings, SideChoice
from formcheck.records.answer_file import answer_from_dict, answer_to_dict
from formcheck.records.answers import Answer
from formcheck.sheets.options import SheetOptions
from formcheck.sheets.pages.marks import Mark
from formcheck.text import strip_control
from formcheck.version import __version__

Status = Literal["analysed", "unusable", "unreadable", "set-aside"]

SUMMARY_PAGE = "summary.html"
"""The page of all clips, in the results folder."""
EXIT_CODES: Mapping[Status, int] = {"analysed": 0, "unusable": 4, "unreadable": 3, "set-aside": 3}


@dataclass(frozen=True, slots=True)
class Limits(ClipLimits):
    """What one clip may be and take. One that passes a limit is set aside and the rest goes on.

    ``memory_mb`` is the address space of its worker, where the system can limit that (Linux).
    ``time_s`` is for clips that do not state their length; the others get TIME_FACTOR of it more.
    """

    memory_mb: int = 4096
    time_s: float = 600.0


TIME_FACTOR = 5.0
"""A whole core needs one to two seconds for a second of clip; several times that is no progress. A
proposal."""


@dataclass(frozen=True, slots=True)
class Setup:
    """What all clips of a batch have in common. ``retry`` tries clips again that were set aside.

    The alias and the day of the ``sheets`` are each job's own.
    """

    out: Path
    settings: Settings = field(default_factory=Settings)
    sheets: SheetOptions = field(default_factory=SheetOptions)
    limits: Limits = field(default_factory=Limits)
    retry: bool = False
    formcheck: str = __version__


@dataclass(frozen=True, slots=True)
class Job:
    """One clip to check.

    ``clip`` is its resolved path (or URL on a cluster), ``shown`` what people call it, ``folder``
    the name of its result folder, ``client`` an alias; ``prescription`` is told on the sheet.
    ``exercise`` None is recognised in the clip, among ``prescriptions`` if there are any and in the
    whole library if there are none. ``answer`` is what the client said, ``most_pain`` (0-10) the most
    pain with which they go on. ``second`` is the resolved path of another clip of the same set, by a
    second camera; empty if there is none; its result goes into ``second_folder`` where the two cannot
    be joined. ``stature_cm`` is the client's height, where it is known.
    """

    clip: str
    shown: str
    exercise: Exercise | None = None
    folder: str = ""
    side: SideChoice | None = None
    client: str = ""
    made_on: date | None = None
    prescription: Prescription | None = None
    prescriptions: tuple[Prescription, ...] = ()
    answer: Answer | None = None
    most_pain: int = MOST_PAIN
    second: str = ""
    second_folder: str = ""
    stature_cm: float | None = None

    @property
    def of_second(self) -> "Job":
        """The second clip as a job of its own."""
        return replace(
            self,
            clip=self.second,
            shown=Path(self.second).name,
            folder=self.second_folder,
            second="",
            second_folder="",
        )

    @property
    def identity(self) -> dict[str, str]:
        """What tells this job from every other: the clip, the exercise and the side."""
        return {"clip": self.clip, "exercise": self.exercise_name, "side": self.side or ""}

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """What the clip may be: one thing, one of several prescribed, or anything."""
        if self.exercise is not None:
            return (Candidate(self.exercise, self.side, self.prescription),)
        return candidates_of(self.prescriptions) or candidates_for(side=self.side)

    @property
    def exercise_name(self) -> str:
        """The exercise's name, empty where it is to be recognised."""
        return self.exercise.name if self.exercise else ""

    def settings(self, setup: Setup) -> Settings:
        """How its clip is looked at: as all of the batch, by the client's own height."""
        if self.stature_cm is None:
            return setup.settings
        return replace(setup.settings, stature_m=self.stature_cm / 100)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a clip.

    ``triage`` says how urgently somebody should look (see ``triage.LEVELS``) and ``why`` in one
    sentence. ``title`` is the exercise's, ``marks`` are those of the repetitions in order.
    ``cached`` is True if the result was there from an earlier run. ``seconds`` is the
    work it took, now or then. ``moved_from`` is the day for which the record of clients had the clip
    until its result was recorded for ``made_on``; empty if it had it for no other. ``another_exercise``
    is whether the clip clearly shows another, so that nothing in it was judged.
    """

    clip: str
    shown: str
    folder: str
    client: str
    exercise: str
    side: str
    made_on: str
    status: Status
    triage: str
    why: str
    score: int | None = None
    counted: str = ""
    dose_met: bool | None = None
    duration_s: float | None = None
    frames: int = 0
    seconds: float = 0.0
    cached: bool = False
    title: str = ""
    marks: tuple[Mark, ...] = ()
    moved_from: str = ""
    another_exercise: bool = False

    def __post_init__(self) -> None:
        # Workers and records hand outcomes on as JSON, which knows lists and tables only.
        object.__setattr__(self, "marks", _marks().validate_python(self.marks))

    @property
    def exit_code(self) -> int:
        """As in ``formcheck check``."""
        return EXIT_CODES["unusable" if self.another_exercise else self.status]

    def as_cached(self) -> "Outcome":
        """The same outcome, found rather than made."""
        return replace(self, cached=True)


def outcome_of(job: Job, status: Status, triage: str, why: str) -> Outcome:
    """An outcome with what the job already says."""
    return Outcome(
        clip=job.clip,
        shown=job.shown,
        folder=job.folder,
        client=job.client,
        exercise=job.exercise_name,
        side=job.side or "",
        made_on=job.made_on.isoformat() if job.made_on else "",
        status=status,
        triage=triage,
        why=strip_control(why),
    )


def to_json(job: Job, setup: Setup) -> dict[str, Any]:
    """A job and its setup as plain JSON types."""
    names = (
        *("clip", "shown", "folder", "side", "client", "most_pain", "stature_cm"),
        *("second", "second_folder"),
    )
    return {
        "job": {
            **{name: getattr(job, name) for name in names},
            "exercise": exercise_to_json(job.exercise),
            "made_on": job.made_on.isoformat() if job.made_on else None,
            "prescription": prescription_to_json(job.prescription),
            "prescriptions": [prescription_to_json(one) for one in job.prescriptions],
            "answer": answer_to_dict(job.answer) if job.answer else None,
        },
        "setup": {**asdict(setup), "out": str(setup.out)},
    }


def from_json(message: Mapping[str, Any]) -> tuple[Job, Setup]:
    """The reverse of ``to_json``."""
    job, setup = dict(message["job"]), dict(message["setup"])
    if job["exercise"] is not None:
        job["exercise"] = Exercise.model_validate(job["exercise"])
    job["made_on"] = date.fromisoformat(job["made_on"]) if job["made_on"] else None
    if job["prescription"] is not None:
        job["prescription"] = _prescriptions().validate_python(job["prescription"])
    job["prescriptions"] = tuple(map(_prescriptions().validate_python, job["prescriptions"]))
    job["answer"] = answer_from_dict(job["answer"]) if job["answer"] else None
    setup["out"] = Path(setup["out"])
    setup["settings"] = Settings(**setup["settings"])
    setup["sheets"] = SheetOptions(**setup["sheets"] | {"note": tuple(setup["sheets"]["note"])})
    setup["limits"] = Limits(**setup["limits"])
    return Job(**job), Setup(**setup)


def exercise_to_json(exercise: Exercise | None) -> object:
    """An exercise as plain JSON types; None for none."""
    return None if exercise is None else exercise.model_dump(mode="json", exclude_none=True)


def prescription_to_json(prescription: Prescription | None) -> object:
    """A prescription as plain JSON types; None for none."""
    return None if prescription is None else _prescriptions().dump_python(prescription, mode="json")


@cache
def _marks() -> TypeAdapter[tuple[Mark, ...]]:
    return TypeAdapter(tuple[Mark, ...])


@cache
def _prescriptions() -> TypeAdapter[Prescription]:
    return TypeAdapter(Prescription)
