"""The invented practice: a rowing club's winter shoulder programme, six clients, eight weeks.

Everything here is made up, and the truth of each story is known: who did how much, what changed, what
hurt. Nobody in it is real.
"""

import random
from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from formcheck.checks.result import ClipResult
from formcheck.clip_name import clip_name
from formcheck.demo.made import made_set
from formcheck.exercises.programme import Prescription
from formcheck.records.answers import Answer, Ticked, add_answer, clear, tick
from formcheck.records.clients import add_client
from formcheck.records.notes import Note, add_note
from formcheck.records.phases import in_force
from formcheck.records.programmes import prescribe
from formcheck.records.sets import record_result
from formcheck.records.signature import sign_phase
from formcheck.records.store import Store
from formcheck.sheets.export.result_json import result_to_dict

WEEKS, WEEKDAYS = 8, (0, 2, 4)
"""How long the programme has run, and on which days of the week it is due (Monday is 0). Mechanical."""
COACH = "the coach (invented)"
_FIRST_FILMINGS = 12
"""How often an exercise is filmed on its first day, enough to know how far results repeat. Mechanical."""
_STEP_UP_WEEK = 5
"""The week in which clients who may go on move to the second phase. Mechanical."""


def _steady(week: float) -> Mapping[str, float]:
    return {}


@dataclass(frozen=True, slots=True)
class Client:
    """A client's story: ``truth`` has the true values of checks in a week, 0 to 8.

    ``comes`` is the share of sessions that are done, ``films`` the share of those that are filmed;
    ``pain`` is told by week; ``yaw_deg`` says where the camera stands in a week; ``flag_week`` is the
    week in which a red flag is told.
    """

    alias: str
    side: str
    story: str
    comes: float = 1.0
    films: float = 1.0
    truth: Callable[[float], Mapping[str, float]] = _steady
    pain: Mapping[int, int] = field(default_factory=dict)
    yaw_deg: Callable[[int], float] = lambda week: 0.0
    flag_week: int | None = None
    steps_up: bool = False


CLIENTS = (
    Client(
        "heron (invented)",
        "right",
        "Comes every time. The arm truly rises higher and turns out further, and the second phase has "
        "begun.",
        truth=lambda week: {"height": 92 + 2.0 * week, "turn-out": -34 - 2.0 * week},
        steps_up=True,
    ),
    Client(
        "grebe (invented)",
        "left",
        "Comes about half of the time, and makes some of it up later. Nothing truly changes.",
        comes=0.55,
    ),
    Client(
        "coot (invented)",
        "right",
        "Pain above the limit in the fifth week. The coach spoke with the client and cleared it.",
        pain={5: 7},
        truth=lambda week: {"height": 96.0},
    ),
    Client(
        "teal (invented)",
        "right",
        "The camera moves in the fifth week. Nothing truly changes, and no change is told.",
        yaw_deg=lambda week: 0.0 if week < 5 else 42.0,
    ),
    Client(
        "swift (invented)",
        "left",
        "A warning sign in the last week, which the coach has still to look into.",
        flag_week=8,
        truth=lambda week: {"hike": 3.4},
    ),
    Client(
        "wren (invented)",
        "right",
        "Does everything, films little of it, and hitches the shoulder a little less each week.",
        films=0.3,
        truth=lambda week: {"hike": 3.2 - 0.3 * week},
    ),
)
"""The clients, each with a story whose truth is known. Nobody is real. Mechanical."""

PROGRAMME = """\
# Invented: a rowing club's winter shoulder programme. No real person or club.
client = "{alias}"
pain_at_most = 5

[[limits]]
measure = "shoulder_elevation"
never_above = 150

[[phases]]
name = "first four weeks"
[[phases.items]]
exercise = "belly-press"
side = "{side}"
dose = {{ count = 3, hold_s = 6, days_a_week = 3 }}
[[phases.items]]
exercise = "external-rotation-at-side"
side = "{side}"
dose = {{ count = 8, sets = 1, days_a_week = 3 }}
[[phases.items]]
exercise = "scaption-raise"
side = "{side}"
after_sessions = 2
dose = {{ count = 8, sets = 1, days_a_week = 3 }}

[[phases]]
name = "with a band"
[phases.enter]
days = 9
weeks = 3
share_within = 0.7
pain_during_at_most = 3
settled_by_morning = true
[[phases.items]]
exercise = "scaption-raise"
side = "{side}"
dose = {{ count = 10, sets = 1, days_a_week = 3 }}
[[phases.items]]
exercise = "internal-rotation-at-side"
side = "{side}"
load = "red band"
dose = {{ count = 10, sets = 1, days_a_week = 3 }}
"""


Latest = dict[str, tuple[Prescription, ClipResult, date]]
"""What was prescribed, the last filmed set of it, and its day, by exercise."""


def first_monday(today: date) -> date:
    """The day on which the eight weeks began that end before the week of ``today``."""
    return today - timedelta(days=today.weekday() + 7 * WEEKS)


def last_sunday(start: date) -> date:
    """The last day of the eight weeks that began on ``start``."""
    return start + timedelta(days=7 * WEEKS - 1)


def live_through(store: Store, client: Client, start: date, folder: Path) -> Latest:
    """Record a client's eight weeks; the last filmed set of each exercise, by its name.

    ``folder`` is where the programme file is written. The same client and start give the same weeks.
    """
    rng = random.Random(f"{client.alias} {start}")  # noqa: S311 - a story, not a secret
    file = folder / f"{client.alias.split()[0]}.toml"
    file.write_text(PROGRAMME.format(alias=client.alias, side=client.side), "utf-8")
    latest: Latest = {}
    with store.transaction():
        add_client(store, client.alias)
        prescribe(store, client.alias, file, from_day=start)
        for week in range(1, WEEKS + 1):
            if client.steps_up and week == _STEP_UP_WEEK:
                monday = start + timedelta(days=7 * (week - 1))
                note = "All that was asked for is met."
                sign_phase(store, client.alias, "with a band", from_day=monday, by=COACH, note=note)
            for weekday in WEEKDAYS:
                day = start + timedelta(days=7 * (week - 1) + weekday)
                if rng.random() < client.comes:
                    latest |= _session(store, client, (week, day), rng, set(latest))
        _said_by_the_coach(store, client, start)
    return latest


def _session(
    store: Store,
    client: Client,
    when: tuple[int, date],
    rng: random.Random,
    known: Container[str],
) -> Latest:
    """One session: its sets filmed or ticked off, and what the client says of it.

    An exercise that is not ``known`` is filmed several times, the camera put up anew, to see how far
    results repeat.
    """
    week, day = when
    here = in_force(store, client.alias, day)
    filmed: Latest = {}
    for one in here.programme.prescriptions if here else ():
        name = one.exercise.name
        if rng.random() >= client.films:
            dose = one.exercise.dose
            held = dose.count * dose.hold_s if dose.hold_s else None
            tick(
                store,
                client.alias,
                Ticked(name, one.side_to_check, day, dose.sets, dose.count * dose.sets, held),
            )
            continue
        for again in range(1 if name in known else _FIRST_FILMINGS):
            result = _filmed(client, one, when, rng, again)
            content = result_to_dict(result, client=client.alias, made_on=day)
            record_result(
                store,
                client.alias,
                content,
                day=day,
                load=one.load,
                filmed_again=name not in known,
            )
            filmed[name] = (one, result, day)
    add_answer(store, client.alias, _answer(client, week, day, rng))
    return filmed


def _filmed(
    client: Client, one: Prescription, when: tuple[int, date], rng: random.Random, again: int
) -> ClipResult:
    week, day = when
    truth = client.truth(week - 1 + day.weekday() / 7)
    ids = {check.id for check in one.exercise.checks}
    name = clip_name(client.alias, one.exercise.name, one.side_to_check, day)
    return made_set(
        one,
        rng,
        f"{name}_{again + 1}" if again else name,
        truth={key: value for key, value in truth.items() if key in ids},
        yaw_deg=client.yaw_deg(week) + rng.gauss(0.0, 3.0),
    )


def _answer(client: Client, week: int, day: date, rng: random.Random) -> Answer:
    worst = client.pain.get(week) if day.weekday() == WEEKDAYS[1] else None
    during = worst if worst is not None else rng.choice((0, 1, 1, 2))
    flagged = client.flag_week == week and day.weekday() == WEEKDAYS[-1]
    return Answer(
        day=day,
        pain_before=1,
        pain_during=during,
        pain_after=min(during, 3),
        pain_next_morning=1,
        effort=rng.choice((4, 5, 5, 6)),
        words="It caught when I reached up." if worst else "",
        red_flags={"numb-or-weak": True} if flagged else {"numb-or-weak": False},
        source="form",
    )


def _said_by_the_coach(store: Store, client: Client, start: date) -> None:
    for week in client.pain:
        day = start + timedelta(days=7 * (week - 1) + WEEKDAYS[1] + 1)
        words = (
            "Spoke by phone, seen by the club's physiotherapist. May go on below shoulder height."
        )
        clear(store, client.alias, through_day=day, by=COACH, note=words)
        add_note(store, client.alias, Note(day, COACH, words))
