"""From guesses to one exercise that nobody needs to ask about, or why there is none."""

from collections.abc import Sequence

from formcheck.errors import UnrecognisedError
from formcheck.recognise.recognise import Guess

MIN_CONFIDENCE = 0.85
"""Less sure of the exercise than this, and a clip is not checked unless somebody says yes."""


def surest(guesses: Sequence[Guess], clip: str) -> Guess:
    """The likeliest guess, if it is sure enough by itself. Raises UnrecognisedError if not."""
    if not guesses:
        raise unrecognised(clip, "none of them is seen in it")
    if guesses[0].probability < MIN_CONFIDENCE:
        raise unrecognised(clip, nearest_of(guesses))
    return guesses[0]


def nearest_of(guesses: Sequence[Guess]) -> str:
    """The three likeliest with their probabilities, in words."""
    others = ", ".join(f"{one.exercise.name} {one.probability:.0%}" for one in guesses[:3])
    return f"the nearest are {others}"


def unrecognised(clip: str, why: str) -> UnrecognisedError:
    """The error of a clip whose exercise was not said and cannot be told."""
    return UnrecognisedError(
        f"{clip}: which exercise this is cannot be told from the clip ({why}; at least "
        f"{MIN_CONFIDENCE:.0%} is needed). Name it with --exercise or in the manifest."
    )
