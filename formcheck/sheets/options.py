"""What may be chosen about the sheets of a clip."""

from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.errors import UsageError
from formcheck.pipeline.settings import Settings
from formcheck.records.answers import Answer
from formcheck.words.words import words_for


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """How the sheets are made.

    ``alias`` is the name the client is known by on paper; ``made_on`` the day of the recording, if
    it is to be shown; ``note`` the lines of the coach's note, for the coach's sheet only.
    ``video`` adds the annotated clip and the player; ``single_file`` puts the clip into the pages
    themselves, so that each can be sent alone; ``keep_sound`` leaves the clip its sound, which plays
    at the speed of the recording only. ``paper`` is one of ``a4`` and ``us-letter``; left
    out, it is what the locale uses. ``fhir`` adds ``observations.json``. New folders and files are
    for the user alone; ``share`` gives them the usual permissions. ``answer`` is what the client said of
    the session, ``most_pain`` (0-10) the most pain with which they go on: beyond it, and after any red
    flag, every page begins with stopping.
    ``all_clips`` is the address of the page of all clips of a batch, for the coach's page.
    """

    alias: str = ""
    made_on: date | None = None
    locale: str = "en"
    note: tuple[str, ...] = ()
    show_face: bool = False
    video: bool = False
    single_file: bool = False
    keep_sound: bool = False
    pdf: bool = True
    paper: str | None = None
    fhir: bool = False
    share: bool = False
    answer: Answer | None = None
    most_pain: int = MOST_PAIN
    all_clips: str = ""


def validate_options(options: SheetOptions, settings: Settings) -> None:
    """Raise UsageError for a locale that is not known, or what the other options leave no use for."""
    words_for(options.locale)
    if options.paper and not options.pdf:
        raise UsageError("--paper is for the PDF sheets, which --no-pdf leaves out.")
    if not options.keep_sound:
        return
    if not options.video:
        raise UsageError("--keep-sound is for the annotated clip; add --video or --single-file.")
    if settings.speed != 1:
        raise UsageError(
            "--keep-sound needs a clip that plays at the speed it was filmed at: sound does not "
            "stretch. Leave out --keep-sound or --speed."
        )
