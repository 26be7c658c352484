"""Eight weeks of an invented client, whose truth is known."""

import random
from datetime import date, timedelta

from formcheck.records.answers import Answer, Ticked, add_answer, tick
from formcheck.records.programmes import prescribe
from formcheck.records.sets import record_result
from tests.records.made import made_check, made_limit, made_rep, made_result

START = date(2026, 1, 5)  # a Monday
PROGRAMME = """
client = "heron"
pain_at_most = 5

[[limits]]
measure = "shoulder_elevation"
never_above = 120

[[phases]]
name = "positions"
[[phases.items]]
exercise = "belly-press"
side = "right"
dose = { count = 3, sets = 2, hold_s = 5, days_a_week = 3 }
[[phases.items]]
exercise = "scaption-raise"
side = "right"
after_sessions = 2
dose = { count = 8, sets = 2, days_a_week = 2 }

[[phases]]
name = "loaded"
[phases.enter]
days = 6
weeks = 2
share_within = 0.8
pain_during_at_most = 3
settled_by_morning = true
[[phases.items]]
exercise = "scaption-raise"
side = "right"
load = "1 kg"
dose = { count = 8, sets = 2, days_a_week = 3 }
"""


def day_of(week, weekday):
    """Monday of the first week is (1, 0)."""
    return START + timedelta(days=7 * (week - 1) + weekday)


def prescribed(store, folder):
    path = folder / "heron.toml"
    path.write_text(PROGRAMME, "utf-8")
    prescribe(store, "heron", path, from_day=START)


def filmed(store, day, *, exercise="scaption-raise", value=90.0, held_s=None, **more):
    """A recorded set of three repetitions, all of that value, every limit kept."""
    again = more.pop("filmed_again", False)
    load = more.pop("load", "")
    limit = more.pop("limit", "kept")
    verdict = more.pop("verdict", "within")
    number = store.row("SELECT count(*) FROM recorded_set")[0]
    check = made_check(
        "height", value=value, measure="shoulder_elevation", verdict=verdict, statistic="max"
    )
    reps = [made_rep(k, [check], hold_s=held_s) for k in (1, 2, 3)]
    limits = [made_limit(limit)] if limit else []
    result = made_result(f"{day} {number}", exercise=exercise, reps=reps, limits=limits, **more)
    record_result(store, "heron", result, day=day, load=load, filmed_again=again)


def ticked(store, day, *, exercise="belly-press", sets=2):
    tick(store, "heron", Ticked(exercise, "right", day, sets, count=3 * sets, held_s=15.0 * sets))


def said(store, day, *, during=2, before=1, morning=1, **more):
    answer = Answer(day, pain_before=before, pain_during=during, pain_next_morning=morning, **more)
    add_answer(store, "heron", answer)


def noisy(seed, sem, truth):
    """Results of sessions whose true values are known, with the error of a session each."""
    rng = random.Random(seed)
    return [value + rng.gauss(0.0, sem) for value in truth]
