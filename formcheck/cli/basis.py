"""What ``check`` judges clips by: a programme file, a client's recorded programme, or neither."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from formcheck.batch.job import Job
from formcheck.batch.sources.recorded import Prescribed
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.errors import UsageError
from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.pipeline.selection import Candidate, candidates_for
from formcheck.records.clients import alias_of
from formcheck.records.store import open_store


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line says of clips and of their client; ``records`` is the file of the record."""

    exercise: str | None
    side: Literal["left", "right", "both"] | None
    programme: Path | None
    phase: str | None
    client: str | None
    records: Path | None
    day: date | None


@dataclass(frozen=True, slots=True)
class Basis:
    """What clips may be, whose they are, and the most pain (0-10) with which the client goes on.

    ``notes`` are lines for whoever runs the command.
    """

    candidates: tuple[Candidate, ...]
    alias: str = ""
    most_pain: int = MOST_PAIN
    notes: tuple[str, ...] = ()


def basis_of(asked: Asked) -> Basis:
    """What clips are judged by. Raises UsageError, ExerciseError or RecordsError."""
    if asked.client is not None:
        return _by_record(asked, asked.client)
    if asked.records is not None:
        raise UsageError("--records: say with --client whose recorded programme is meant.")
    if asked.programme is None:
        if asked.phase is not None:
            raise UsageError("--phase is one of a programme: give that with --programme.")
        return Basis(candidates_for(asked.exercise, side=asked.side))
    plan = load_programme(asked.programme).in_phase(asked.phase)
    own = plan.pain_at_most
    return Basis(
        candidates_for(asked.exercise, side=asked.side, programme=plan),
        plan.client,
        MOST_PAIN if own is None else own,
        (*plan.warnings, *plan.advice),
    )


def _by_record(asked: Asked, client: str) -> Basis:
    """As the client's recorded programme of the day has it, just as in a batch."""
    if asked.programme is not None or asked.phase is not None:
        raise UsageError(
            "--client takes programme and phase from the record; leave out --programme and --phase, "
            "or --client."
        )
    with open_store(asked.records) as store:
        alias, prescribed = alias_of(store, client), Prescribed(store)
        if asked.day is None and prescribed.changed(alias):
            raise UsageError(
                f"--client {alias}: programme or phase have changed over time; say with --date on "
                "which day the clips were filmed."
            )
        own, name = prescribed.exercises(alias), asked.exercise
        exercise = (own.get(name) or load_exercise(name)) if name else None
        job, told = prescribed.applied(
            Job("", "", exercise, side=asked.side, client=alias, made_on=asked.day)
        )
    return Basis(job.candidates, alias, job.most_pain, (told,))
