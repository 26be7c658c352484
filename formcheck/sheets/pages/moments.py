"""The moments of a clip that are worth a picture, the keys they go by, and the pictures."""

from dataclasses import dataclass

from formcheck.checks.result import ClipResult
from formcheck.movements.types import Rep

MOST_CLOSE_UPS = 10
"""No more repetitions are shown close up, so that the coach's page stays readable. A proposal."""
_CLOSE_UP = "close-"


@dataclass(frozen=True, slots=True)
class Still:
    """One JPEG picture without any metadata; ``time_s`` is that of the frame it was taken from."""

    time_s: float
    width: int
    height: int
    jpeg: bytes


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment worth a picture: of the whole subject, or close up on the shoulders."""

    time_s: float
    close_up: bool = False


def moments_of(result: ClipResult) -> dict[str, Moment]:
    """The moments to take a still of, under the keys that the pages use.

    One for each repetition and each cue; where the coach is asked to look, also a close-up of each
    whole repetition at the end of its top.
    """
    moments = {rep_key(judged.rep): Moment(key_moment_s(judged.rep)) for judged in result.reps}
    for position, cue in enumerate(result.summary.cues):
        moments[cue_key(position)] = Moment(cue.at_s)
    if result.summary.look_yourself:
        whole = [judged.rep for judged in result.reps if not judged.rep.partial]
        for rep in whole[:MOST_CLOSE_UPS]:
            moments[close_up_key(rep_key(rep))] = Moment(rep.top_end_s, close_up=True)
    return moments


def rep_key(rep: Rep) -> str:
    """The key of a repetition's still."""
    return f"rep-{rep.side}-{rep.index}"


def cue_key(position: int) -> str:
    """The key of a cue's still."""
    return f"cue-{position}"


def close_up_key(of_rep: str) -> str:
    """The key of a repetition's close-up, from that of its still."""
    return f"{_CLOSE_UP}{of_rep}"


def is_close_up(key: str) -> bool:
    """Whether the key is that of a close-up."""
    return key.startswith(_CLOSE_UP)


def key_moment_s(rep: Rep) -> float:
    """The moment that shows a repetition best: the middle of its top."""
    return (rep.top_start_s + rep.top_end_s) / 2
