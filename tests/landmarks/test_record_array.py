from dataclasses import dataclass

import numpy as np
import pytest

from formcheck.landmarks.record_array import RecordArray


@dataclass(frozen=True)
class Record:
    place: np.ndarray
    size: float


def test_records_come_back_as_they_went_in_however_many():
    kept = RecordArray(Record)
    for number in range(1000):
        kept.append(Record(np.full((2, 3), number, np.float32), number / 2))
    assert len(kept) == 1000
    for number, record in enumerate(kept):
        assert (record.place == number).all()
        assert record.size == number / 2
    assert kept[-1].size == 999 / 2


def test_what_is_changed_afterwards_does_not_change_what_is_kept():
    kept, place = RecordArray(Record), np.zeros(3)
    kept.append(Record(place, 1.0))
    place += 1
    assert (kept[0].place == 0).all()


@pytest.mark.parametrize("position", [0, -1])
def test_nothing_is_found_in_an_empty_row(position):
    with pytest.raises(IndexError):
        RecordArray(Record)[position]
