"""A client as their own measure: results read as a change from a set that the coach signed as good.

Much of the error of a camera's reading is the person's and the view's, and is the same in both sets, so
that a difference is surer than either reading. That holds only where view, place of the camera, side,
load, model, version and settings are the same; where they are not, the reading stays absolute and says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.codes import LimitState, ProblemCode
from formcheck.errors import RecordsError
from formcheck.records.clients import client_id
from formcheck.records.progress import (
    Context,
    Subject,
    context_of,
    place_known,
    same_place,
    subject_of,
)
from formcheck.records.reliability import NORMAL_95, change_sd, sem_for
from formcheck.records.sets import RecordedSet, result_of, sets_of
from formcheck.records.store import Store, now
from formcheck.records.summary import counts_of

_ANOTHER = {ProblemCode.ANOTHER_EXERCISE, ProblemCode.ANOTHER_POSITION}


@dataclass(frozen=True, slots=True)
class Baseline:
    """A set that was signed as good, by whom and why."""

    set_id: int
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class AgainstBaseline:
    """A check of a set beside the same check of the signed set, all in the subject's unit.

    ``change`` is its value less that of the signed set of ``since``, with its standard ``uncertainty``;
    both are None where they may not be compared: ``differs`` then names why (fields of ``Context``,
    ``place``, or ``error`` where it is not known how far results repeat). ``absolute_sd`` is the
    standard uncertainty of the value by itself. ``place_known`` is whether both sets tell how far away
    and how high the camera stood.
    """

    subject: Subject
    value: float
    absolute_sd: float | None
    since: date
    change: float | None
    uncertainty: float | None
    differs: tuple[str, ...] = ()
    place_known: bool = False

    @property
    def told(self) -> bool:
        """Whether the change is larger than error explains in 19 of 20 cases."""
        if self.change is None or self.uncertainty is None:
            return False
        return abs(self.change) > NORMAL_95 * self.uncertainty


def sign_baseline(store: Store, alias: str, set_id: int, *, by: str, note: str = "") -> None:
    """Sign a set as good; later sets of its exercise and side are read against it as well.

    Raises RecordsError if no name was given, the client has no such set, or it can be no example: no
    whole repetition, a limit that was passed or may have been, or perhaps another exercise.
    """
    if not by.strip():
        raise RecordsError("a baseline needs the name of who signs it")
    owner = client_id(store, alias)
    with store.transaction():
        row = store.row("SELECT 1 FROM recorded_set WHERE id = ? AND client_id = ?", set_id, owner)
        if row is None:
            raise RecordsError(f"there is no set {set_id} of this client")
        _refuse_bad(store, set_id)
        store.write("DELETE FROM baseline WHERE set_id = ?", set_id)
        store.write(
            "INSERT INTO baseline (set_id, by, note, recorded_at) VALUES (?, ?, ?, ?)",
            *(set_id, by.strip(), note.strip(), now()),
        )


def _refuse_bad(store: Store, set_id: int) -> None:
    """Raise RecordsError for a set that cannot be an example of its exercise."""
    result = result_of(store, set_id)
    counts = counts_of(result)
    codes = {problem["code"] for problem in result["quality"]["problems"]}
    reasons = []
    if counts.count == 0:
        reasons.append("it has no whole repetition")
    if counts.limit_state and LimitState(counts.limit_state).alarming:
        reasons.append("a limit of safety was passed in it, or may have been")
    if codes & _ANOTHER:
        reasons.append(f"it may show something else than {result['exercise']}")
    if reasons:
        raise RecordsError(f"set {set_id} cannot be signed as good: {'; '.join(reasons)}")


def baselines_of(store: Store, alias: str) -> list[Baseline]:
    """The signed sets of a client, in the order in which they were signed."""
    rows = store.rows(
        "SELECT b.set_id, b.by, b.note FROM baseline b JOIN recorded_set s ON s.id = b.set_id "
        "WHERE s.client_id = ? ORDER BY b.id",
        client_id(store, alias),
    )
    return [Baseline(*tuple(row)) for row in rows]


def against_baseline(store: Store, alias: str) -> dict[int, list[AgainstBaseline]]:
    """For each later set of a client, by its number, its checks beside those of the signed set.

    The latest signed set of the same exercise and side before it counts.
    """
    signed = {one.set_id for one in baselines_of(store, alias)}
    recorded = sets_of(store, alias)
    found: dict[int, list[AgainstBaseline]] = {}
    latest: dict[tuple[str, str], RecordedSet] = {}
    for one in recorded:
        key = (one.exercise, one.side)
        if key in latest:
            found[one.id] = compared(one, latest[key])
        if one.id in signed:
            latest[key] = one
    return found


def compared(one: RecordedSet, signed: RecordedSet) -> list[AgainstBaseline]:
    """The checks of a set beside those of a signed one; those that only one of them has are left out."""
    before = {subject_of(signed, check): check for check in signed.checks}
    differs = _differs(one, signed)
    rows = []
    for check in one.checks:
        subject = subject_of(one, check)
        known = before.get(subject)
        if check.value is None or known is None or known.value is None:
            continue
        sem = sem_for(check.measure, check.side, one.yaw_deg, check.uncertainty)
        reasons = differs if differs or sem is not None else ("error",)
        uncertainty = None
        if not reasons and sem is not None:
            uncertainty = change_sd(check.measure, sem, (check.uncertainty, known.uncertainty))
        change = None if reasons else check.value - known.value
        rows.append(
            AgainstBaseline(
                subject,
                check.value,
                check.uncertainty,
                signed.day,
                change,
                uncertainty,
                reasons,
                place_known(one) and place_known(signed),
            )
        )
    return rows


def _differs(one: RecordedSet, signed: RecordedSet) -> tuple[str, ...]:
    names: Sequence[str] = Context.__slots__
    mine, theirs = context_of(one), context_of(signed)
    different = tuple(name for name in names if getattr(mine, name) != getattr(theirs, name))
    return different or (() if same_place(one, signed) else ("place",))
