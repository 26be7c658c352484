"""What the rounds of a compound exercise come to: what was left out or too short, and in which order."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from formcheck.catalogue.codes import CueCode, Message, Params, RoundCode
from formcheck.checks.result import Cue, JudgedRep
from formcheck.exercises.schema import Exercise, Part
from formcheck.movements.rounds import Round, rounds_of

RoundsBySide = Mapping[str, tuple[Round, ...]]


def rounds_by_side(exercise: Exercise, reps: Sequence[JudgedRep]) -> RoundsBySide:
    """The rounds of each side that was seen; empty for an exercise without parts."""
    if not exercise.parts:
        return {}
    sides = dict.fromkeys(judged.rep.side for judged in reps)
    return {
        side: rounds_of(exercise, [judged.rep for judged in reps if judged.rep.side == side])
        for side in sides
    }


def round_cues(exercise: Exercise, rounds: RoundsBySide) -> list[Cue]:
    """What to tell the client of parts left out, and of parts with too few circles."""
    every = list(chain.from_iterable(rounds.values()))
    return [*_missed_cues(exercise, every), *_short_cues(exercise, every)]


def _missed_cues(exercise: Exercise, rounds: Sequence[Round]) -> list[Cue]:
    """For each part that was left out its own sentence, at the end of the round that lacks it."""
    cues = []
    for part in exercise.parts:
        lacking = [one for one in rounds if part.name in one.missing]
        certain = [one for one in lacking if one.certain]
        if lacking:
            last = (certain or lacking)[0].reps[-1]
            cues.append(
                Cue(
                    check_id=f"missed-{part.name}",
                    sentence=part.missed,
                    rep_index=last.index,
                    at_s=last.end_s,
                    times_seen=len(certain or lacking),
                    certain=bool(certain),
                    per_round=True,
                )
            )
    return cues


def _short_cues(exercise: Exercise, rounds: Sequence[Round]) -> list[Cue]:
    """For each part with too few circles one sentence, at the end of those that were fewest."""
    cues = []
    for part in exercise.parts:
        short = [
            (few.done, few.asked, [rep for rep in one.reps if rep.part == part.name][-1])
            for one in rounds
            for few in one.short
            if few.part == part.name
        ]
        if short:
            done, asked, last = min(short, key=lambda found: found[0])
            cues.append(
                Cue(
                    check_id=f"short-{part.name}",
                    sentence=Message(
                        CueCode.FEW_CIRCLES,
                        {"asked": asked, "done": done, "direction": part.turn},
                    ),
                    rep_index=last.index,
                    at_s=last.end_s,
                    times_seen=len(short),
                    certain=True,
                    per_round=True,
                )
            )
    return cues


def round_messages(exercise: Exercise, rounds: RoundsBySide) -> tuple[Message, ...]:
    """A message for each part that a round lacks or cuts short, and for each round out of order or
    whose order the camera cannot tell.
    """
    titles = {part.name: _title(part) for part in exercise.parts}
    return tuple(
        Message(code, {"number": number, "side": side if len(rounds) > 1 else "", **params})
        for side, of_side in rounds.items()
        for number, one in enumerate(of_side, start=1)
        for code, params in _lacks(one, titles)
    )


def _lacks(one: Round, titles: Mapping[str, str]) -> Iterator[tuple[RoundCode, Params]]:
    """What there is to say of one round."""
    for name in one.missing:
        code = RoundCode.LEFT_OUT if one.certain else RoundCode.NOT_RECOGNISED
        yield code, {"part": titles[name]}
    for few in one.short:
        circles: Params = {"part": titles[few.part], "done": few.done, "asked": few.asked}
        yield RoundCode.FEW_CIRCLES, circles
    if one.open_order:
        starts_s = {rep.part: rep.start_s for rep in reversed(one.reps)}
        unsure: Params = {
            "parts": tuple(titles[name] for name in one.open_order),
            "moments_s": tuple(sorted(starts_s[name] for name in one.open_order)),
        }
        yield RoundCode.OPEN_ORDER, unsure
    elif not one.in_order:
        came = dict.fromkeys(titles[rep.part] for rep in one.reps if rep.part)
        yield RoundCode.OTHER_ORDER, {"parts": tuple(came)}


def _title(part: Part) -> str:
    """What people call the part, with the way of its circles."""
    if part.turn is None or part.turn in part.title.lower():
        return part.title
    return f"{part.title} {part.turn}"
