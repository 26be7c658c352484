"""The client's packet in words: this week's exercises, how to film them, what to stop for, the answers."""

from dataclasses import dataclass, replace
from datetime import date

from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.red_flags import MOST_PAIN, RedFlag
from formcheck.clip_name import clip_stem, slug
from formcheck.errors import RecordsError
from formcheck.exercises.programme import Prescription, Programme
from formcheck.exercises.schema import Check, Exercise, Part
from formcheck.records.adherence import sessions_of
from formcheck.records.answers import SCALES, open_answers
from formcheck.records.phases import in_force, most_pain_of
from formcheck.records.store import Store
from formcheck.sheets.pages.client import cautions
from formcheck.sheets.pages.filming import filming_steps
from formcheck.sheets.pages.pacing import Pace, pace_of
from formcheck.text import capitalise_first
from formcheck.words.labels import measure_label
from formcheck.words.stop import StopCard, stop_card
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class PacketPart:
    """One movement to do: the exercise, or one position of a compound one."""

    title: str
    part: Part | None
    pace: Pace
    start_label: str
    end_label: str


@dataclass(frozen=True, slots=True)
class PacketItem:
    """One exercise of this week, top to bottom.

    ``clip_name`` has letters in place of the day, which stands behind ``clip_stem``. ``exercise`` is what
    is drawn: with both arms where it is to be done so.
    """

    title: str
    name: str
    side: str
    side_key: str
    dose: str
    limits: tuple[str, ...]
    summary: str
    start: str
    parts: tuple[PacketPart, ...]
    film: str
    plan_label: str
    note: str
    cautions: tuple[str, ...]
    clip_stem: str
    clip_name: str
    exercise: Exercise


@dataclass(frozen=True, slots=True)
class PacketPage:
    """The packet, top to bottom. ``later`` are exercises that are not yet due.

    With ``stop_first`` nothing is asked for: the exercises are left out wherever it is shown.
    """

    title: str
    client: str
    slug: str
    phase: str
    items: tuple[PacketItem, ...]
    later: tuple[str, ...]
    steps: tuple[tuple[str, str], ...]
    questions: tuple[tuple[str, str], ...]
    scales: tuple[tuple[str, str, str], ...]
    most_pain: int
    stop: tuple[str, ...]
    in_english: tuple[str, ...]
    stop_first: StopCard | None = None


def packet_page(
    programme: Programme,
    words: Words,
    *,
    sessions_done: int = 0,
) -> PacketPage:
    """The packet of a client for the session that follows ``sessions_done`` sessions.

    The most pain with which the client goes on is the programme's, or the usual one.
    """
    due = programme.due(sessions_done)
    later = [one for one in programme.prescriptions if one not in due]
    return PacketPage(
        title=words("packet.title"),
        client=programme.client,
        slug=slug(programme.client),
        phase=programme.phase,
        items=tuple(_item(one, words) for one in due),
        later=tuple(_later(one, sessions_done, words) for one in later),
        steps=filming_steps(words),
        questions=tuple((str(flag), words(f"red_flag.{flag}")) for flag in RedFlag),
        scales=tuple(
            (one, words(f"answers.{one}"), words(f"answers.{one}_hint")) for one in SCALES
        ),
        most_pain=MOST_PAIN if programme.pain_at_most is None else programme.pain_at_most,
        stop=cautions(None, words),
        in_english=tuple(
            text for one in due for text in _own_words(one.exercise) if words.is_foreign(text)
        ),
    )


def packet_page_of(
    store: Store, alias: str, words: Words, day: date, sessions_done: int | None = None
) -> PacketPage:
    """The packet of what is prescribed on that day, as the record has it.

    Answers that the coach has still to look into put stopping first. Raises RecordsError without a
    programme.
    """
    here = in_force(store, alias, day)
    if here is None:
        raise RecordsError(
            f"{alias} has no programme on {day}; record one first: formcheck client prescribe"
        )
    most = most_pain_of(store, alias, day)
    done = len(sessions_of(store, alias, here, day)) if sessions_done is None else sessions_done
    page = packet_page(here.programme, words, sessions_done=done)
    waiting = open_answers(store, alias, most_pain=most)
    return replace(page, stop_first=stop_card(waiting, words, most, days=True))


def _own_words(exercise: Exercise) -> tuple[str, ...]:
    parts = (part.title for part in exercise.parts)
    own = (exercise.title, exercise.summary, exercise.start_position, exercise.filming.advice)
    return (*own, *exercise.cautions, *parts)


def _item(one: Prescription, words: Words) -> PacketItem:
    exercise, side = one.exercise, words(f"packet.side.{one.side}")
    title = words.tell(exercise.title)
    stem = clip_stem(one.client, exercise.name, one.side_to_check)
    load = words("packet.load", load=one.load) if one.load else ""
    return PacketItem(
        title=title,
        name=exercise.name,
        side=side,
        side_key=one.side_to_check,
        dose=" ".join(filter(None, (dose_line(exercise, words), load))),
        limits=tuple(
            _limit(check, words) for _, check in exercise.all_checks if check.safety_limit
        ),
        summary=words.tell(exercise.summary),
        start=words.tell(exercise.start_position),
        parts=tuple(_part(exercise, part, words) for part in exercise.parts or (None,)),
        film=words.tell(exercise.filming.advice),
        plan_label=words("packet.plan", title=title),
        note=one.note or "",
        cautions=tuple(map(words.tell, exercise.cautions)),
        clip_stem=stem,
        clip_name=f"{stem}_{words('packet.day_pattern')}",
        exercise=exercise.model_copy(update={"arms": "both"}) if one.side == "both" else exercise,
    )


def _part(exercise: Exercise, part: Part | None, words: Words) -> PacketPart:
    title = words.tell((part or exercise).title)
    return PacketPart(
        title=title,
        part=part,
        pace=pace_of(exercise, part, words),
        start_label=words("packet.start_of", title=title),
        end_label=words("packet.end_of", title=title),
    )


def dose_line(exercise: Exercise, words: Words) -> str:
    """``3 holds of 8 s, 2 sets, 60 s rest between them, 5 days a week``."""
    dose = exercise.dose
    kind = words.kind("round" if exercise.parts else exercise.movement, dose.count)
    said = words("packet.count", count=dose.count, kind=kind)
    if dose.per_direction:
        said += words("client.per_direction")
    if dose.hold_s is not None:
        said += words("client.each_held", time=words.exact(dose.hold_s, "s"))
    parts = [said]
    if dose.sets > 1:
        parts.append(words("packet.sets", sets=dose.sets))
    if dose.rest_s is not None:
        parts.append(words("packet.rest", rest=words.exact(dose.rest_s, "s")))
    if dose.days_a_week is not None:
        parts.append(words.count("packet.days", dose.days_a_week))
    return ". ".join(map(capitalise_first, parts)) + "."


def _limit(check: Check, words: Words) -> str:
    """``Arm height: never above 90 deg. Go only as far as was agreed with you.``"""
    end, border = ("above", check.high) if check.high is not None else ("below", check.low or 0.0)
    never = words(f"limit.never_{end}", limit=words.exact(border, MEASURES[check.measure].unit))
    label = capitalise_first(measure_label(check.measure, words))
    return f"{label}: {never}. {words.tell(check.cue)}"


def _later(one: Prescription, done: int, words: Words) -> str:
    left = one.after_sessions - done
    return words.count("packet.later", left, title=words.tell(one.exercise.title))
