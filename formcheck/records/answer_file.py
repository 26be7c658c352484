"""The file of answers that a client sends along with the clips, and what a batch makes of several."""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from functools import reduce
from pathlib import Path
from typing import Any

from formcheck.catalogue.red_flags import MOST_PAIN, RedFlag
from formcheck.errors import RecordsError
from formcheck.exercises.explain import nearest
from formcheck.records.answers import SCALE, SCALES, Answer
from formcheck.text_file import read_text_file

PATTERN = "*_answers_*.json"
"""What such files are called."""
_NONE = ("none", "no")
"""Words that say that all questions were asked and none is true."""
_MOST_BYTES = 64 * 2**10
"""Largest file that is read. Mechanical."""
_MOST_LETTERS = 4000
"""Longest text of an answer. Mechanical."""


@dataclass(frozen=True, slots=True)
class StopReason:
    """Why a client is to stop: a red flag, or a pain (``pain_during``, ...) above ``limit``."""

    flag: str = ""
    pain: str = ""
    value: int = 0
    limit: int = MOST_PAIN


def reasons_to_stop(answer: Answer, most_pain: int = MOST_PAIN) -> tuple[StopReason, ...]:
    """What of an answer means to stop and speak to a clinician first; empty if nothing does.

    ``most_pain`` (0-10) is the most pain with which the client goes on.
    """
    flags = (StopReason(flag=flag, limit=most_pain) for flag in answer.flags_raised)
    pains = (
        StopReason(pain=name, value=value, limit=most_pain)
        for name in SCALES
        if name != "effort" and (value := getattr(answer, name)) is not None and value > most_pain
    )
    return (*flags, *pains)


def read_answer_file(path: str | Path) -> tuple[str, Answer]:
    """The client's alias and the answer in a file that the form saved.

    Raises RecordsError in one line if it is no such file or holds what no form asks for.
    """
    file = Path(path)
    text = read_text_file(file, file.name, _MOST_BYTES)
    try:
        content = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise RecordsError(f"{file.name}: is no file of answers: {error}") from None
    if not isinstance(content, dict) or content.get("formcheck") != "answers":
        raise RecordsError(f"{file.name}: is no file of answers that a form saved")
    try:
        client = _text(content, "client")
        return client, replace(answer_from_dict(content), source="form")
    except (KeyError, TypeError, ValueError) as error:
        reason = error.args[0] if error.args else error
        raise RecordsError(f"{file.name}: {reason}; ask for it to be saved again") from None


def read_flags(text: str) -> tuple[dict[str, bool], list[str]]:
    """An answer to every red-flag question from codes that were answered yes, or from ``none``.

    Empty if nothing was said. The second is what is wrong, one line a code.
    """
    raised = [code for code in re.split(r"[\s,;]+", text.casefold()) if code]
    known = [str(flag) for flag in RedFlag]
    problems = []
    for code in raised:
        if code not in (*known, *_NONE):
            close = nearest(code, known)
            hint = f'did you mean "{close}"?' if close else f"there is {', '.join(known)}, or none"
            problems.append(f'"{code:.40}" is not one of them; {hint}')
    return ({flag: flag in raised for flag in known} if raised else {}), problems


def answer_to_dict(answer: Answer) -> dict[str, Any]:
    """An answer as plain JSON types."""
    return asdict(answer) | {"day": answer.day.isoformat(), "red_flags": dict(answer.red_flags)}


def answer_from_dict(content: Mapping[str, Any]) -> Answer:
    """The reverse of ``answer_to_dict``. Raises ValueError for what no form asks for."""
    flags = content.get("red_flags") or {}
    if not isinstance(flags, dict) or not all(
        flag in set(RedFlag) and isinstance(yes, bool) for flag, yes in flags.items()
    ):
        raise ValueError("red_flags: are not those that are asked")
    return Answer(
        day=date.fromisoformat(_text(content, "day")),
        exercise=_text(content, "exercise"),
        clip_sha256=_text(content, "clip_sha256"),
        **{name: _on_scale(content, name) for name in SCALES},
        stopped_by=_text(content, "stopped_by"),
        words=_text(content, "words"),
        red_flags=flags,
        source=_text(content, "source"),
    )


def merged(answers: Iterable[Answer]) -> Answer | None:
    """Several answers about one day as one: the higher number, any yes, all words; None of none."""
    known = [*answers]
    return reduce(_joined, known) if known else None


def _joined(one: Answer, other: Answer) -> Answer:
    values: dict[str, Any] = {}
    for name in SCALES:
        told = [v for v in (getattr(one, name), getattr(other, name)) if v is not None]
        values[name] = max(told, default=None)
    for name in ("stopped_by", "words"):
        texts = filter(None, (getattr(one, name), getattr(other, name)))
        values[name] = " ".join(dict.fromkeys(texts))
    values["red_flags"] = {
        flag: one.red_flags.get(flag, False) or other.red_flags.get(flag, False)
        for flag in {**one.red_flags, **other.red_flags}
    }
    return replace(one, **values)


def _text(content: Mapping[str, Any], key: str) -> str:
    value = content.get(key, "")
    if not isinstance(value, str) or len(value) > _MOST_LETTERS:
        raise ValueError(f"{key}: is no text, or too long")
    return value


def _on_scale(content: Mapping[str, Any], key: str) -> int | None:
    value = content.get(key)
    whole = isinstance(value, int) and not isinstance(value, bool)
    if value is not None and not (whole and SCALE[0] <= value <= SCALE[1]):
        raise ValueError(f"{key}: {value!r} is not a whole number from 0 to 10")
    return value
