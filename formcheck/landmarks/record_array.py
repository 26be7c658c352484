"""Records of small arrays stored side by side: each numpy array by itself has a hundred bytes on top."""

from collections.abc import Iterator
from dataclasses import fields
from typing import Any, Generic, TypeVar, cast

import numpy as np

Record = TypeVar("Record")
_BLOCK = 256
"""Records that are allocated together. Mechanical."""


class RecordArray(Generic[Record]):
    """A growing array of data classes whose fields are arrays or numbers of fixed shapes.

    A record is stored as a copy and read back with views into the array.
    """

    def __init__(self, kind: type[Record]) -> None:
        self._kind = kind
        self._names = [field.name for field in fields(cast("Any", kind))]
        self._blocks: list[Any] = []
        self._count = 0

    def append(self, record: Record) -> None:
        """Store a copy."""
        row = tuple(getattr(record, name) for name in self._names)
        if self._count % _BLOCK == 0:
            values = zip(self._names, map(np.asarray, row), strict=True)
            form = [(name, value.dtype, value.shape) for name, value in values]
            self._blocks.append(np.empty(_BLOCK, form))
        self._blocks[-1][self._count % _BLOCK] = row
        self._count += 1

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, position: int) -> Record:
        at = position + self._count if position < 0 else position
        if not 0 <= at < self._count:
            raise IndexError(position)
        return self._kind(*self._blocks[at // _BLOCK][at % _BLOCK])

    def __iter__(self) -> Iterator[Record]:
        return (self[position] for position in range(self._count))
