"""What the record of clients prescribes for a job: looked up by client and day, told, and asked about."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from formcheck.batch.job import Job
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.clip_name import slug
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Exercise
from formcheck.records.adherence import sessions_of
from formcheck.records.clients import list_clients
from formcheck.records.phases import Stretch, stretches
from formcheck.records.store import Store, open_store
from formcheck.words.words import words_for

Ask = Callable[[str], bool]
"""Puts a question to somebody who can answer yes or no."""


@contextmanager
def prescribed_in(records: Path | None) -> Iterator["Prescribed | None"]:
    """What the record in that file prescribes, for the length of the block; None without a file.

    Raises RecordsError if it cannot be used.
    """
    if records is None:
        yield None
        return
    with open_store(records) as store:
        yield Prescribed(store)


class Prescribed:
    """What an open record prescribes for its clients. Each client's programmes are read once."""

    def __init__(self, store: Store) -> None:
        self.clients = [client.alias for client in list_clients(store)]
        self._store = store
        self._stretches: dict[str, list[Stretch]] = {}

    def exercises(self, client: str) -> dict[str, Exercise]:
        """Every exercise that was ever prescribed for a client, by name, as it was last."""
        return {
            one.exercise.name: one.exercise
            for stretch in self._of(client)
            for phase in stretch.programme.phases
            for one in phase.prescriptions
        }

    def applied(self, job: Job, ask: Ask | None = None) -> tuple[Job, str]:
        """The job as its client's programme of its day prescribes it, and a line that tells so.

        A programme that was given by hand stays. Of an exercise that the programme does not have, or
        that was given as a file of its own, only the limits are the programme's. The line says where
        no programme is used, and why; it is empty for a job of no client.
        """
        if not job.client or job.prescription is not None or job.prescriptions:
            return job, ""
        aliases = [alias for alias in self.clients if slug(alias) == slug(job.client)]
        if len(aliases) != 1:
            code = "recorded.several_clients" if aliases else "recorded.no_client"
            return job, words_for("en")(code, client=job.client)
        job = replace(job, client=aliases[0])
        held = self._held(job, ask)
        if isinstance(held, str):
            return job, held
        own = held.programme.pain_at_most
        job = replace(job, most_pain=MOST_PAIN if own is None else own)
        by_hand = self._given_by_hand(job)
        fitting = [one for one in held.programme.prescriptions if _fits(one, job)]
        if by_hand or not fitting:
            return self._unlisted(job, held, by_hand=by_hand)
        told = f"{_told('used', job, held)} {self._not_due(job, held, fitting)}"
        return _prescribed(job, fitting, held), told.rstrip()

    def _unlisted(self, job: Job, held: Stretch, *, by_hand: bool) -> tuple[Job, str]:
        """The job as what the programme does not have, within the limits of the programme."""
        exercises = [job.exercise] if job.exercise else [load_exercise(name) for name in _library()]
        side = job.side or "both"
        prescriptions = [
            held.programme.unlisted(one, side, one if by_hand else _as_in_library(one))
            for one in exercises
        ]
        own = job.exercise in self.exercises(job.client).values()
        judged = ["by_hand"] if by_hand else ["not_in_it", "as_own" if own else "as_library"]
        codes = (*judged, "within" if held.programme.limits else "no_limits")
        told = " ".join(_told(code, job, held) for code in codes)
        return _prescribed(job, prescriptions, held), told

    def changed(self, client: str) -> bool:
        """Whether programme or phase of a client have changed, so that the day decides."""
        return len(self._of(client)) > 1

    def _held(self, job: Job, ask: Ask | None) -> Stretch | str:
        """The programme of a job's day, or a line that says why there is none."""
        words, known = words_for("en"), self._of(job.client)
        day = job.made_on or date.today()
        held = next((one for one in known if one.covers(day)), None)
        if held is None:
            code = "recorded.none_then" if known else "recorded.none"
            return words(code, client=job.client, day=words.date(day))
        if job.made_on is None and len(known) > 1:
            question = _told("ask_day", job, held)
            if ask is None or not ask(question):
                return words("recorded.no_day", client=job.client)
        return held

    def _not_due(self, job: Job, held: Stretch, fitting: Sequence[Prescription]) -> str:
        """That what was filmed waits for more sessions of the phase, as far as the record says."""
        before = (job.made_on or date.today()) - timedelta(days=1)
        done = len(sessions_of(self._store, job.client, held, before))
        asked = min(one.after_sessions for one in fitting)
        return words_for("en")("recorded.not_due", asked=asked, done=done) if done < asked else ""

    def _given_by_hand(self, job: Job) -> bool:
        """Whether the exercise is neither the library's nor one that was prescribed."""
        exercise = job.exercise
        if exercise is None or exercise in self.exercises(job.client).values():
            return False
        return exercise.name not in _library() or exercise != load_exercise(exercise.name)

    def _of(self, client: str) -> list[Stretch]:
        if client not in self._stretches:
            self._stretches[client] = stretches(self._store, client)
        return self._stretches[client]


def _fits(one: Prescription, job: Job) -> bool:
    """Whether a job may be of a prescription; one arm may be filmed of two that work by themselves."""
    if job.exercise is not None and job.exercise.name != one.exercise.name:
        return False
    either = one.side_to_check == "both" and one.exercise.arms != "both"
    return either or job.side in (None, one.side_to_check)


def _prescribed(job: Job, fitting: Sequence[Prescription], held: Stretch) -> Job:
    """The job as its only fitting prescription, or as one of several."""
    fitting = [replace(one, version=held.version) for one in fitting]
    if len(fitting) > 1:
        return replace(job, exercise=None, prescriptions=tuple(fitting))
    one = fitting[0]
    side = job.side or (one.side_to_check if one.listed else None)
    return replace(job, exercise=one.exercise, side=side, prescription=one)


def _as_in_library(exercise: Exercise) -> Exercise:
    """What the changes of an exercise are told against: itself, where the library does not have it."""
    return load_exercise(exercise.name) if exercise.name in _library() else exercise


def _told(code: str, job: Job, held: Stretch) -> str:
    words = words_for("en")
    side = words(f"side.{job.side}") if job.side else ""
    return words(
        f"recorded.{code}",
        clip=job.shown,
        client=job.client,
        version=held.version,
        phase=held.programme.phase,
        since=words.date(held.first_day),
        what=", ".join(filter(None, (job.exercise_name, side))),
        items=", ".join(f"{p.exercise.name} ({p.side})" for p in held.programme.prescriptions),
    )


@cache
def _library() -> frozenset[str]:
    return frozenset(library_names())
