"""The smallest possible Theora clips, written bit by bit, for want of an encoder.

All pictures are plain grey. Source of the layout: Theora Specification (Xiph.Org), chapters 6, 7
and appendix A; for the Ogg pages RFC 3533.
"""

import struct
from collections.abc import Iterable
from pathlib import Path

RATE_HZ = 30
SIDE_PX = 32
_KEY_SHIFT = 6


def write_theora(path: Path, empty: Iterable[bool]) -> None:
    """One packet for each item: a grey picture, or an empty packet that repeats the one before."""
    packets = [(0, _identification()), (0, b"\x81theora" + bytes(8)), (0, _setup())]
    shown = 0
    for index, repeats in enumerate(empty):
        shown = shown if repeats else index + 1
        granule = shown << _KEY_SHIFT | (index + 1 - shown)
        packets.append((granule, b"" if repeats else _grey_picture()))
    pages = [
        _page(number, granule, packet, begins=number == 0, ends=number == len(packets) - 1)
        for number, (granule, packet) in enumerate(packets)
    ]
    path.write_bytes(b"".join(pages))


def _identification() -> bytes:
    blocks = SIDE_PX // 16
    return (
        b"\x80theora\x03\x02\x01"
        + struct.pack(">HH", blocks, blocks)
        + SIDE_PX.to_bytes(3) * 2
        + bytes(2)
        + struct.pack(">II", RATE_HZ, 1)
        + (1).to_bytes(3) * 2
        + bytes(4)
        + _pack((0, 6), (_KEY_SHIFT, 5), (0, 2), (0, 3))
    )


def _setup() -> bytes:
    no_loop_filter = [(0, 3)]
    scales = [(0, 4), *[(1, 1)] * 64] * 2
    two_matrices = [(1, 9), *[(16, 8)] * 128]
    one_range_for_all = [(0, 1), (62, 6), (0, 1), *[(0, 1)] * 2, *[(0, 1), (0, 1)] * 3]
    trees = [(0, 1), (1, 1), (6, 5), (1, 1), (7, 5)] * 80  # code 0: no more coefficients at all
    return b"\x82theora" + _pack(
        *no_loop_filter, *scales, *two_matrices, *one_range_for_all, *trees
    )


def _grey_picture() -> bytes:
    header = [(0, 1), (0, 1), (0, 6), (0, 1), (0, 3)]
    return _pack(*header, (0, 8), (0, 1), (0, 12), (0, 8))


def _pack(*fields: tuple[int, int]) -> bytes:
    bits = "".join(f"{value:0{width}b}" for value, width in fields)
    bits += "0" * (-len(bits) % 8)
    return int(bits, 2).to_bytes(len(bits) // 8)


def _page(number: int, granule: int, packet: bytes, *, begins: bool, ends: bool) -> bytes:
    lacing = bytes([255] * (len(packet) // 255) + [len(packet) % 255])
    page = bytearray(
        b"OggS"
        + struct.pack("<BBqIIIB", 0, begins * 2 | ends * 4, granule, 1, number, 0, len(lacing))
        + lacing
        + packet
    )
    page[22:26] = struct.pack("<I", _checksum(page))
    return bytes(page)


def _checksum(page: bytes) -> int:
    total = 0
    for byte in page:
        total ^= byte << 24
        for _ in range(8):
            total = (total << 1 ^ 0x04C11DB7 if total & 0x80000000 else total << 1) & 0xFFFFFFFF
    return total
