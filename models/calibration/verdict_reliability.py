"""How often verdicts are wrong, and whether the probabilities that are said of them come true.

    python -m models.calibration.verdict_reliability --data DIR [--sets judge-3] [--workers 8]

Checks the made clips of the sets as formcheck does it, and writes the parts of ``REPORT.md`` on
verdicts anew, without the rest of the report. It takes about a second for each clip.
"""

import argparse
import re
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

from models.calibration.dataset import clips_of
from models.calibration.markdown import table
from models.calibration.verdicts import CLEARLY, Ruling, all_rulings, sections

_BINS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 1.0)
"""Edges of the probabilities that are told of together."""


def reliability(found: Sequence[Ruling]) -> list[str]:
    """The parts of the report on how often what was said came true."""
    measurable = [one for one in found if one.probability is not None]
    return [
        "## How often verdicts are wrong\n",
        f"Of all verdicts `within`, those whose true value lies beyond a limit by more than {CLEARLY:g} "
        f"tolerances, and of all `outside` those whose true value lies inside by more than that.\n",
        table("measure, view", _wrong_rows(found), _WRONG_HEAD),
        "## Probabilities said, and how often it happened\n",
        "All measurable checks by the probability of being outside that was said of them. ±: standard "
        "error, as if checks were independent; those of one clip are not, so it is rather more.\n",
        table("said", _said_rows(measurable), _SAID_HEAD),
        "The same by measure, all views and probabilities together.\n",
        table("measure", _measure_rows(measurable), _SAID_HEAD),
    ]


def _wrong_rows(found: Iterable[Ruling]) -> list[tuple[str, list[str]]]:
    rows = []
    for name, members in _grouped(found, lambda one: f"{one.measure}, {one.view}"):
        within = [one.beyond > CLEARLY for one in members if one.verdict == "within"]
        outside = [one.beyond < -CLEARLY for one in members if one.verdict == "outside"]
        rows.append(
            (name, [str(len(within)), _percent(within), str(len(outside)), _percent(outside)])
        )
    return rows


def _said_rows(found: Sequence[Ruling]) -> Iterable[tuple[str, list[str]]]:
    for low, high in pairwise(_BINS):
        here = [
            one for one in found if low <= (p := one.probability or 0.0) < high or p == high == 1.0
        ]
        if here:
            yield f"{100 * low:g} to {100 * high:g} %", _said(here)


def _measure_rows(found: Sequence[Ruling]) -> Iterable[tuple[str, list[str]]]:
    return ((name, _said(members)) for name, members in _grouped(found, lambda one: one.measure))


def _said(rulings: Sequence[Ruling]) -> list[str]:
    said = float(np.mean([one.probability or 0.0 for one in rulings]))
    happened = float(np.mean([one.beyond > 0 for one in rulings]))
    error = np.sqrt(happened * (1 - happened) / len(rulings))
    return [str(len(rulings)), f"{100 * said:.1f} %", f"{100 * happened:.1f} ± {100 * error:.1f} %"]


def _grouped(
    found: Iterable[Ruling], key: Callable[[Ruling], str]
) -> list[tuple[str, list[Ruling]]]:
    groups: dict[str, list[Ruling]] = {}
    for one in found:
        groups.setdefault(key(one), []).append(one)
    return sorted(groups.items())


def _percent(wrong: Sequence[bool]) -> str:
    return f"{100 * np.mean(wrong):.0f} %" if wrong else "-"


_WRONG_HEAD = ("within", "of them truly outside", "outside", "of them truly within")
_SAID_HEAD = ("checks", "said on average", "happened")


def with_sections(report: str, parts: str) -> str:
    """The report with these parts, each below a heading of second level, in place of its own."""
    for part in filter(None, re.split(r"(?m)^(?=## )", parts)):
        heading = part.split("\n", 1)[0]
        found = re.search(rf"(?ms)^{re.escape(heading)}$.*?(?=^## |\Z)", report)
        report = (
            report[: found.start()] + part.rstrip() + "\n\n" + report[found.end() :]
            if found
            else report.rstrip() + "\n\n" + part.rstrip() + "\n"
        )
    return report


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--sets", nargs="+", default=["fresh-judge"])
    parser.add_argument("--report", type=Path, default=Path(__file__).parent / "REPORT.md")
    parser.add_argument("--workers", type=int, default=1)
    arguments = parser.parse_args()
    clips = [clip for name in arguments.sets for clip in clips_of(arguments.data, name)]
    rulings = all_rulings(clips, arguments.workers)
    read_on = f"Read on {len(clips)} clips of {' and '.join(arguments.sets)}.\n"
    parts = "\n".join([sections(rulings), *reliability(rulings)])
    parts = re.sub(r"(?m)^(## .*\n)\n", rf"\1\n{read_on}\n", parts)
    text = with_sections(arguments.report.read_text("utf-8"), parts)
    arguments.report.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
