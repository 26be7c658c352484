"""Things a reader of the sheet must know about the recording itself."""

from dataclasses import dataclass, field

from formcheck.catalogue.codes import Message, Params, ProblemCode


@dataclass(frozen=True, slots=True)
class Problem:
    """One finding about the recording, its sentence made already; gives way to RecordingProblem."""

    code: str
    message: str
    start_s: float | None = None
    end_s: float | None = None
    fatal: bool = False


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
        """What there is to say, for the ``words`` room."""
        own = {"start_s": self.start_s, "end_s": self.end_s}
        return Message(self.code, {**own, **self.params}, self.form)
