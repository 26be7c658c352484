"""Things a reader of the sheet must know about the recording itself."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One finding about the recording, for a stretch of it or for all of it.

    ``code`` is stable and machine-readable (``nobody-in-view``), ``message`` is for people.
    ``fatal`` marks a problem that makes the clip unusable (exit code 4).
    """

    code: str
    message: str
    start_s: float | None = None
    end_s: float | None = None
    fatal: bool = False
