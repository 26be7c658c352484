"""How sure each measure is from each side, as found on rendered people."""

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.measures.table import MeasureTable, Series, column_name

_NEARBY_DEG = 14.0
"""A view stands for directions up to this far to either side of it. A proposal."""


def no_surer(table: MeasureTable, yaw_deg: float, elevation_deg: float) -> MeasureTable:
    """The table, no measure of it surer than it is of people.

    ``yaw_deg`` is how far the right side is turned toward the camera, ``elevation_deg`` where the
    right arm is. What was found is the median standard uncertainty of people who stand or sit, by
    ``models/calibration/report.py``; where nothing was found, the table's own stays.
    """
    found = _found()
    band = _before(found["elevation_from_deg"], elevation_deg)
    places = [
        _before(found["yaw_from_deg"], (yaw_deg + way + 180) % 360 - 180)
        for way in (-_NEARBY_DEG, _NEARBY_DEG)
    ]
    columns = dict(table.columns)
    for measure in MEASURES.keys() & found.keys():
        least = [sd for place in places if (sd := found[measure][place][band]) is not None]
        name = column_name(measure, "right" if MEASURES[measure].sided else None)
        if least:
            own = columns[name]
            columns[name] = Series(own.value, np.maximum(own.sd, np.mean(least)))
    return replace(table, columns=columns)


def _before(edges: list[float], value: float) -> int:
    """Which stretch a value lies in, each beginning at one of the edges."""
    return max(int(np.searchsorted(edges, value, side="right")) - 1, 0)


@cache
def _found() -> Mapping[str, Any]:
    text = (files("formcheck.measures") / "data" / "view_advice.json").read_text("utf-8")
    content: dict[str, Any] = json.loads(text)
    return content
