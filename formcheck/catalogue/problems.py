"""Things a reader of the sheet must know about the recording itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from formcheck.catalogue.codes import Message, Params, ProblemCode

FILMED_AS_ADVISED = "as-advised"
"""The form of a problem of a clip that was filmed from where it was asked for. Mechanical."""


@dataclass(frozen=True, slots=True)
class RecordingProblem:
    """One finding about the recording, for a stretch of it or for all of it.

    ``params`` and ``form`` are those of its ``Message``. ``fatal`` marks a problem that makes the
    clip unusable (exit code 4).
    """

    code: ProblemCode
    start_s: float | None = None
    end_s: float | None = None
    fatal: bool = False
    params: Params = field(default_factory=dict)
    form: str = ""

    @property
    def message(self) -> Message:
        """What there is to say, for the package ``words``."""
        own = {"start_s": self.start_s, "end_s": self.end_s}
        return Message(self.code, {**own, **self.params}, self.form)


def restored(stored: Mapping[str, Any]) -> RecordingProblem:
    """A problem that was kept as plain JSON (``dataclasses.asdict``).

    Raises ValueError, TypeError or KeyError where it is none, perhaps one of another release.
    """
    problem = RecordingProblem(**{**stored, "code": ProblemCode(stored["code"])})
    whole = (
        set(stored) == {one.name for one in fields(RecordingProblem)}
        and all(isinstance(at, int | float | None) for at in (problem.start_s, problem.end_s))
        and isinstance(problem.fatal, bool)
        and isinstance(problem.params, dict)
        and isinstance(problem.form, str)
    )
    if not whole:
        raise ValueError(f"{problem.code} has other parts")
    return problem
