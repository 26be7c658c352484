"""Mutated media never hang a batch, crash it, or leave half an output."""

import random
from fractions import Fraction

import pytest

from formcheck.batch.job import Limits
from tests.clips.maker import write_clip

KINDS = {
    "mp4": {},
    "mov": {"codec": "mpeg4", "tick": Fraction(1, 1000)},
    "webm": {"codec": "libvpx-vp9"},
    "avi": {"codec": "mpeg4", "tick": Fraction(1, 30)},
    "gif": {"codec": "gif", "pixel_format": "rgb8"},
}
COPIES = 12


def mutated(data, chance):
    """One of: bytes changed, a piece cut out, doubled, moved or blown up, the end lost."""
    data = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(data))
        piece = data[at : at + chance.randint(1, 64)]
        match chance.randrange(6):
            case 0:
                for _ in range(chance.randint(1, 40)):
                    data[chance.randrange(len(data))] = chance.randrange(256)
            case 1:
                del data[at : at + len(piece)]
            case 2:
                data[at:at] = piece * chance.randint(1, 50)
            case 3:
                data[at : at + 4] = b"\xff\xff\xff\xff"
            case 4:
                data[at : at + 4] = b"\x00\x00\x00\x00"
            case 5:
                del data[max(at, 64) :]
    return bytes(data)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1])
def test_every_mutated_clip_is_accounted_for(uploads, out, run_quick, seed):
    chance = random.Random(seed)
    for kind, form in KINDS.items():
        whole = write_clip(uploads / f"whole.{kind}", [n / 10 for n in range(6)], **form)
        data = whole.read_bytes()
        for number in range(COPIES):
            (uploads / f"{number}.{kind}").write_bytes(mutated(data, chance))
    done = run_quick(limits=Limits(time_s=20), workers=1)
    assert len(done) == len(KINDS) * (COPIES + 1)
    for name, outcome in done.items():
        there = {path.name for path in (out / outcome.folder).glob("*")}
        whole = {"batch.json", "result.json", "sheet.html"} <= there
        assert whole if outcome.status == "unusable" else not there, name
        assert outcome.status == "unusable" or not name.startswith("whole")
    assert [path.name for path in out.iterdir() if path.name[0] == "."] == [".formcheck-batch"]
