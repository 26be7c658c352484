"""formcheck: measures recorded exercise clips and writes rep-by-rep feedback sheets.

What is listed in ``__all__`` is public and kept; it is loaded when it is first asked for. API.md shows
it in use.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from formcheck.version import __version__ as __version__

if TYPE_CHECKING:
    from formcheck.batch.job import Limits as Limits
    from formcheck.batch.job import Outcome as Outcome
    from formcheck.batch.run import check_folder as check_folder
    from formcheck.catalogue.codes import Importance as Importance
    from formcheck.catalogue.codes import Verdict as Verdict
    from formcheck.catalogue.problems import RecordingProblem as RecordingProblem
    from formcheck.checks.result import ClipFacts as ClipFacts
    from formcheck.checks.result import ClipResult as ClipResult
    from formcheck.checks.result import Cue as Cue
    from formcheck.checks.result import DoseCount as DoseCount
    from formcheck.checks.result import Finding as Finding
    from formcheck.checks.result import JudgedRep as JudgedRep
    from formcheck.checks.result import Summary as Summary
    from formcheck.clips.types import ClipLimits as ClipLimits
    from formcheck.errors import ClipError as ClipError
    from formcheck.errors import ExerciseError as ExerciseError
    from formcheck.errors import FormcheckError as FormcheckError
    from formcheck.errors import ModelError as ModelError
    from formcheck.errors import OutputError as OutputError
    from formcheck.errors import RecordsError as RecordsError
    from formcheck.errors import UnrecognisedError as UnrecognisedError
    from formcheck.errors import UnusableClipError as UnusableClipError
    from formcheck.errors import UsageError as UsageError
    from formcheck.exercises.library import exercise_with as exercise_with
    from formcheck.exercises.library import library_names as library_names
    from formcheck.exercises.library import load_exercise as load_exercise
    from formcheck.exercises.programme import Prescription as Prescription
    from formcheck.exercises.programme import Programme as Programme
    from formcheck.exercises.programme import load_programme as load_programme
    from formcheck.exercises.schema import Exercise as Exercise
    from formcheck.measures.table import Gap as Gap
    from formcheck.measures.table import MeasureTable as MeasureTable
    from formcheck.measures.table import Series as Series
    from formcheck.measures.table import View as View
    from formcheck.movements.types import Rep as Rep
    from formcheck.pipeline.check import Checked as Checked
    from formcheck.pipeline.check import check_clip as check_clip
    from formcheck.pipeline.landmarks import Measured as Measured
    from formcheck.pipeline.landmarks import measure_clip as measure_clip
    from formcheck.pipeline.selection import Candidate as Candidate
    from formcheck.pipeline.selection import candidates_for as candidates_for
    from formcheck.pipeline.selection import recognise_clip as recognise_clip
    from formcheck.pipeline.settings import Settings as Settings
    from formcheck.pipeline.together import check_together as check_together
    from formcheck.recognise.recognise import Guess as Guess
    from formcheck.records.adherence import adherence_of as adherence_of
    from formcheck.records.answers import Answer as Answer
    from formcheck.records.answers import add_answer as add_answer
    from formcheck.records.clients import add_client as add_client
    from formcheck.records.clients import list_clients as list_clients
    from formcheck.records.programmes import prescribe as prescribe
    from formcheck.records.progress import progress_of as progress_of
    from formcheck.records.readiness import readiness_of as readiness_of
    from formcheck.records.recording import record_folder as record_folder
    from formcheck.records.rights import export_client as export_client
    from formcheck.records.rights import forget_client as forget_client
    from formcheck.records.sets import record_result as record_result
    from formcheck.records.sets import sets_of as sets_of
    from formcheck.records.signature import sign_phase as sign_phase
    from formcheck.records.store import Store as Store
    from formcheck.records.store import open_store as open_store
    from formcheck.sheets.export.result_json import result_schema as result_schema
    from formcheck.sheets.options import SheetOptions as SheetOptions
    from formcheck.sheets.write import write_sheets as write_sheets
    from formcheck.words.words import words_for as words_for

_MODULES = {
    "batch.job": ("Limits", "Outcome"),
    "batch.run": ("check_folder",),
    "catalogue.codes": ("Importance", "Verdict"),
    "catalogue.problems": ("RecordingProblem",),
    "checks.result": (
        *("ClipFacts", "ClipResult", "Cue", "DoseCount", "Finding", "JudgedRep", "Summary"),
    ),
    "clips.types": ("ClipLimits",),
    "errors": (
        *("ClipError", "ExerciseError", "FormcheckError", "ModelError", "OutputError"),
        *("RecordsError", "UnrecognisedError", "UnusableClipError", "UsageError"),
    ),
    "exercises.library": ("exercise_with", "library_names", "load_exercise"),
    "exercises.programme": ("Prescription", "Programme", "load_programme"),
    "exercises.schema": ("Exercise",),
    "measures.table": ("Gap", "MeasureTable", "Series", "View"),
    "movements.types": ("Rep",),
    "pipeline.check": ("Checked", "check_clip"),
    "pipeline.landmarks": ("Measured", "measure_clip"),
    "pipeline.selection": ("Candidate", "candidates_for", "recognise_clip"),
    "pipeline.settings": ("Settings",),
    "pipeline.together": ("check_together",),
    "recognise.recognise": ("Guess",),
    "records.adherence": ("adherence_of",),
    "records.answers": (
        "Answer",
        "add_answer",
    ),
    "records.clients": (
        "add_client",
        "list_clients",
    ),
    "records.signature": ("sign_phase",),
    "records.programmes": ("prescribe",),
    "records.progress": ("progress_of",),
    "records.readiness": ("readiness_of",),
    "records.recording": ("record_folder",),
    "records.rights": (
        "export_client",
        "forget_client",
    ),
    "records.sets": (
        "record_result",
        "sets_of",
    ),
    "records.store": (
        "Store",
        "open_store",
    ),
    "sheets.export.result_json": ("result_schema",),
    "sheets.options": ("SheetOptions",),
    "sheets.write": ("write_sheets",),
    "words.words": ("words_for",),
}
_HOME = {name: f"formcheck.{module}" for module, names in _MODULES.items() for name in names}

__all__ = ["__version__", *sorted(_HOME)]  # noqa: PLE0604 - names of a table of names


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'formcheck' has no attribute {name!r}")
    found = getattr(import_module(_HOME[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
