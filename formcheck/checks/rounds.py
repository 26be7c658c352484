"""What the rounds of a compound exercise come to: what was left out or too short, and in which order."""

from collections.abc import Mapping, Sequence

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
    return [*_missed_cues(exercise, rounds), *_short_cues(exercise, rounds)]


def _missed_cues(exercise: Exercise, rounds: RoundsBySide) -> list[Cue]:
    """For each part that was left out its own sentence, at the end of the round that lacks it."""
    cues = []
    for part in exercise.parts:
        lacking = [
            one for of_side in rounds.values() for one in of_side if part.name in one.missing
        ]
        certain = [one for one in lacking if one.certain]
        if lacking:
            last = (certain or lacking)[0].reps[-1]
            cues.append(
                Cue(
                    check_id=f"missed-{part.name}",
                    text=part.missed,
                    rep_index=last.index,
                    at_s=last.end_s,
                    times_seen=len(certain or lacking),
                    certain=bool(certain),
                    per_round=True,
                )
            )
    return cues


def _short_cues(exercise: Exercise, rounds: RoundsBySide) -> list[Cue]:
    """For each part with too few circles one sentence, at the end of those that were fewest."""
    cues = []
    for part in exercise.parts:
        short = [
            (few.done, few.asked, [rep for rep in one.reps if rep.part == part.name][-1])
            for of_side in rounds.values()
            for one in of_side
            for few in one.short
            if few.part == part.name
        ]
        if short:
            done, asked, last = min(short, key=lambda found: found[0])
            cues.append(
                Cue(
                    check_id=f"short-{part.name}",
                    text=f"Draw all {asked} circles {part.turn} before you go on; here it was {done}.",
                    rep_index=last.index,
                    at_s=last.end_s,
                    times_seen=len(short),
                    certain=True,
                    per_round=True,
                )
            )
    return cues


def round_lines(exercise: Exercise, rounds: RoundsBySide) -> tuple[str, ...]:
    """One plain sentence for each part that a round lacks or cuts short, and for each round out of
    order or whose order the camera cannot tell.
    """
    titles = {part.name: _title(part) for part in exercise.parts}
    lines = []
    for side, of_side in rounds.items():
        whose = f", {side} side" if len(rounds) > 1 else ""
        for number, one in enumerate(of_side, start=1):
            what = "was left out" if one.certain else "was not recognised; look whether it was done"
            lines += [f"Round {number}{whose}: {titles[name]} {what}." for name in one.missing]
            lines += [
                f"Round {number}{whose}: {titles[few.part]}: {few.done} of {few.asked} circles."
                for few in one.short
            ]
            if one.open_order:
                lines.append(f"Round {number}{whose}: {_open_order(one, titles)}")
            elif not one.in_order:
                came = ", ".join(dict.fromkeys(titles[rep.part] for rep in one.reps if rep.part))
                lines.append(f"Round {number}{whose}: done in another order: {came}.")
    return tuple(lines)


def _title(part: Part) -> str:
    """What people call the part, with the way of its circles."""
    if part.turn is None or part.turn in part.title.lower():
        return part.title
    return f"{part.title} {part.turn}"


def _open_order(one: Round, titles: Mapping[str, str]) -> str:
    """That the camera leaves open which part came when, and where to look."""
    starts = {rep.part: rep.start_s for rep in reversed(one.reps)}
    moments = sorted(starts[name] for name in one.open_order)
    return (
        f"the camera cannot tell the order of these: "
        f"{', '.join(titles[name] for name in one.open_order)}. "
        f"Look at the stills at {' and '.join(_moment(at_s) for at_s in moments)}."
    )


def _moment(at_s: float) -> str:
    """As the sheets name it: ``0:12``."""
    return f"{int(at_s) // 60}:{int(at_s) % 60:02d}"
