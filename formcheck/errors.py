"""The one error tree. Every error a user can cause is one of these and carries its exit code.

FormcheckError
├── UsageError            2  what was asked cannot be run as it stands
│   ├── ExerciseError        an exercise file or name is wrong
│   ├── UnrecognisedError    which exercise a clip shows was not said and cannot be told
│   ├── ModelError           a pose model bundle is missing or damaged
│   ├── OutputError          the output file or folder cannot be written
│   └── RecordsError         the record of clients is missing or damaged, or refuses what was asked
├── ClipError             3  a clip could not be read
└── UnusableClipError     4  a clip was read but cannot be judged

Messages say what, where, why and what to do next, in one line.
"""


class FormcheckError(Exception):
    """Base of all errors that formcheck raises on purpose."""

    exit_code = 1


class UsageError(FormcheckError):
    """What was asked cannot be run as it stands: options, files or set-up."""

    exit_code = 2


class ExerciseError(UsageError):
    """An exercise name is unknown or an exercise file is wrong."""


class UnrecognisedError(UsageError):
    """Which exercise a clip shows was not said and cannot be told; other clips may go on.

    ``finding`` is what the clip shows instead, in one sentence; ``how_to_name`` says how whoever
    asked can name the exercise. ``shows_none`` is whether it shows nothing that a client is prescribed.
    """

    def __init__(
        self,
        finding: str,
        how_to_name: str = 'with exercise="..."',
        *,
        shows_none: bool = False,
    ) -> None:
        super().__init__(finding, how_to_name)
        self.finding = finding
        self.how_to_name = how_to_name
        self.shows_none = shows_none

    def __str__(self) -> str:
        return f"{self.finding} Name it {self.how_to_name}."


class ModelError(UsageError):
    """A pose model bundle is missing or damaged."""


class OutputError(UsageError):
    """The output file or folder cannot be written."""


class RecordsError(UsageError):
    """The record of clients is missing or damaged, or refuses what was asked."""


class ClipError(FormcheckError):
    """A clip could not be read."""

    exit_code = 3


class UnusableClipError(FormcheckError):
    """A clip was read but cannot be judged: nobody in view, too short, wrong view."""

    exit_code = 4
