"""``formcheck client show``: all that is recorded of a client, by day."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import RecordOption

if TYPE_CHECKING:
    from formcheck.exercises.programme import Programme
    from formcheck.records.answers import Answer
    from formcheck.records.store import Store

Alias = Annotated[str, typer.Argument(help="The client's alias.", metavar="ALIAS")]


def show(alias: Alias, records: RecordOption = None) -> None:
    """Show what is recorded of a client, with the numbers by which other commands name sets.

    Example: formcheck client show heron
    """
    from formcheck.records.store import open_store
    from formcheck.text import strip_control

    with open_store(records) as store:
        lines = [*_programmes(store, alias), *sorted(_days(store, alias))]
    for line in lines or ["nothing is recorded yet"]:
        typer.echo(strip_control(line))


def _programmes(store: "Store", alias: str) -> Iterator[str]:
    from formcheck.records.phases import stretches

    for one in stretches(store, alias):
        signed = f", signed by {one.entry.by}" if one.entry.by else ""
        unmet = ", ".join(one.entry.although)
        although = f" although not met: {unmet}" if unmet else ""
        line = f'programme {one.version}, phase "{one.programme.phase}"{signed}{although}'
        yield f"{one.first_day}  {line}"
        yield from (f"            {line}" for line in _holds(one.programme))


def _holds(programme: "Programme") -> Iterator[str]:
    """What holds for the client: height, the most pain, limits of safety."""
    from formcheck.catalogue.measures import MEASURES
    from formcheck.words.labels import measure_label
    from formcheck.words.limits import never_text
    from formcheck.words.words import words_for

    words = words_for("en")
    if programme.stature_cm is not None:
        yield f"height {programme.stature_cm:g} cm"
    if programme.pain_at_most is not None:
        yield f"goes on with pain of at most {programme.pain_at_most}"
    limits = {
        (check.measure, end, upward)
        for one in programme.prescriptions
        for check in one.exercise.checks
        if check.safety_limit
        for end, upward in zip(check.limits, (False, True), strict=True)
        if end is not None
    }
    for measure, end, upward in sorted(limits):
        unit = MEASURES[measure].unit
        never = never_text(measure, end, unit, words, upward=upward)
        yield f"{measure_label(measure, words)} {never}"


def _days(store: "Store", alias: str) -> Iterator[str]:
    from formcheck.records.answers import answers_of, clearances_of, ticked_of
    from formcheck.records.baseline import baselines_of
    from formcheck.records.notes import notes_of, overrules_of
    from formcheck.records.sets import sets_of
    from formcheck.records.signature import taken_back

    signed = {one.set_id: one.by for one in baselines_of(store, alias)}
    days = {}
    for one in sets_of(store, alias, checks=False):
        days[one.id] = one.day
        more = f", {one.load}" if one.load else ""
        more += f", limit {one.limit_state}" if one.limit_state not in ("", "kept") else ""
        more += f", signed as good by {signed[one.id]}" if one.id in signed else ""
        yield f"{one.day}  set {one.id}: {one.exercise} {one.side}, {one.count}{more}"
    for tick in ticked_of(store, alias):
        yield f"{tick.day}  ticked off: {tick.exercise} {tick.side}, sets {tick.sets}"
    for answer in answers_of(store, alias):
        yield f"{answer.day}  said: {_said(answer)}"
    for note in notes_of(store, alias):
        about = f" on set {note.set_id}" if note.set_id is not None else ""
        yield f"{note.day}  note{about} by {note.by}: {note.words}"
    for given in overrules_of(store, alias):
        what = " ".join(filter(None, (given.check_id, given.side)))
        verdict = f"{what} measured {given.measured or 'no more'}, {given.verdict} by {given.by}"
        yield f"{days[given.set_id]}  set {given.set_id} at {given.at_s:.0f} s: {verdict}: {given.words}"
    for entry, by, why in taken_back(store, alias):
        yield f'{entry.from_day}  signature for "{entry.phase}" taken back by {by}: {why}'
    for clear in clearances_of(store, alias):
        yield f"{clear.through_day}  cleared through this day by {clear.by}: {clear.note}"


def _said(answer: "Answer") -> str:
    from formcheck.records.answers import SCALES

    told = [(name, getattr(answer, name)) for name in SCALES]
    parts = [f"{name.replace('_', ' ')} {value}" for name, value in told if value is not None]
    parts += [f"yes to {flag}" for flag in answer.flags_raised]
    parts += filter(None, (answer.exercise, answer.stopped_by, answer.words))
    return ", ".join(parts) or "no to every red flag"
