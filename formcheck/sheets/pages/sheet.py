"""Everything that a sheet is made from, gathered once and handed to every writer."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.problems import FILMED_AS_ADVISED
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.checks.result import ClipResult
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.records.answers import Answer
from formcheck.sheets.pages.cards import limit_cards
from formcheck.sheets.pages.chart_spec import ChartSpec
from formcheck.sheets.pages.client import (
    OPERATORS_PROBLEMS,
    ClientPage,
    cautions,
    client_page,
    in_own_words,
)
from formcheck.sheets.pages.coach import CoachPage, coach_page, provenance_line
from formcheck.sheets.pages.long_sets import reps_to_print
from formcheck.sheets.pages.moments import Still
from formcheck.sheets.pages.stop import without_more
from formcheck.sheets.pages.traces import charts
from formcheck.words.stop import StopCard, stop_card
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands at the head and the foot of every page; ``stop`` comes before everything else."""

    alias: str
    clip: str
    side: str
    made_on: str
    privacy: str
    provenance: str
    kind: str
    kinds: str
    stop: StopCard | None = None

    @property
    def when(self) -> str:
        """Side, date and clip in one line, as far as they are known."""
        return " · ".join(filter(None, (self.side, self.made_on, self.clip)))


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A usable clip's pages in words, its charts and its stills.

    ``printed_reps`` are the keys of the repetitions that the coach's pages print in full.
    """

    heading: Heading
    client: ClientPage
    coach: CoachPage
    charts: tuple[ChartSpec, ...]
    stills: Mapping[str, Still]
    printed_reps: frozenset[str]
    note: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UnusablePage:
    """What is said about a clip that could not be judged; ``film`` is empty where it was filmed as
    advised, ``drawn`` the exercise whose filming is drawn, if any.
    """

    title: str
    lead: str
    problems: tuple[str, ...]
    film: str
    drawn: Exercise | None
    cautions: tuple[str, ...]
    in_english: tuple[str, ...]


def gather_sheet(
    result: ClipResult,
    table: MeasureTable,
    exercise: Exercise,
    *,
    stills: Mapping[str, Still],
    heading: Heading,
    words: Words,
    note: tuple[str, ...] = (),
) -> Sheet:
    """The pages, charts, stills and coach's note of a usable clip."""
    client = client_page(result, exercise, words)
    return Sheet(
        heading=heading,
        client=without_more(client, words) if heading.stop else client,
        coach=coach_page(result, exercise, words, heading.alias),
        charts=charts(result, table, exercise, words),
        stills=stills,
        printed_reps=reps_to_print(result, exercise, words),
        note=note,
    )


def heading_of(
    result: ClipResult,
    exercise: Exercise | None,
    words: Words,
    *,
    alias: str,
    made_on: date | None,
    show_face: bool,
    keep_sound: bool = False,
    answer: Answer | None = None,
    most_pain: int = MOST_PAIN,
) -> Heading:
    """Head and foot in words. ``alias`` is the client's own short name, never a real path."""
    known = words.knows("side", result.side)
    kind = exercise.movement if exercise else "rep"
    return Heading(
        alias=alias,
        clip=result.clip.file,
        side=words(f"side.{result.side}") if known else "",
        made_on=words.date(made_on) if made_on else "",
        privacy=words(
            "page.privacy",
            faces=words(f"page.faces_{'shown' if show_face else 'veiled'}"),
            sound=words(f"page.sound_{'kept' if keep_sound else 'left'}"),
        ),
        provenance=provenance_line(result, words),
        kind=words.kind(kind),
        kinds=words.kind(kind, 2),
        stop=stop_card([answer] if answer else [], words, most_pain),
    )


def unusable_page(result: ClipResult, exercise: Exercise | None, words: Words) -> UnusablePage:
    """Why a clip could not be judged, and how to film it; the grave problems first."""
    ordered = sorted(result.problems, key=lambda problem: not problem.fatal)
    told = [one for one in ordered if one.code not in OPERATORS_PROBLEMS]
    as_advised = any(problem.form == FILMED_AS_ADVISED for problem in ordered)
    film = words.tell(exercise.filming.advice) if exercise else words("unusable.film_any")
    return UnusablePage(
        title=words.tell(exercise.title) if exercise else words("unusable.no_exercise"),
        lead=words("unusable.only_limits" if result.limits else "unusable.nothing"),
        problems=(
            *(card.text for card in limit_cards(result, words)),
            *(words.tell(problem.message) for problem in told or ordered),
        ),
        film="" if as_advised else film,
        drawn=None if as_advised else exercise,
        cautions=cautions(exercise, words),
        in_english=tuple(filter(words.is_foreign, in_own_words(exercise))),
    )
