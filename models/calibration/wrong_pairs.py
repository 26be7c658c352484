"""Pairs of clips that do not show one set from two sides: none may be believed.

    python -m models.calibration.wrong_pairs DIR [--most 12] [--model full]

DIR holds the shards that ``pairs.py`` makes, or rendered clips, each with a ``.json`` beside it that has
the clip's ``body``, ``motion`` and ``fault``, and when it was moved (``reps``, ``holds``, ``circles``):
clips that agree in all of it are one set from several views, any others are not. Of each kind of wrong
pair ``--most`` are tried, evenly chosen. Pairs that are right are tried too, and counted apart.
"""

import argparse
import json
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, permutations
from pathlib import Path
from typing import Any

import numpy as np

from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack
from formcheck.pipeline.landmarks import track_clip
from formcheck.pipeline.settings import Settings
from formcheck.views.join import join
from formcheck.views.refusal import Refusal
from models.calibration.dataset import track_of
from models.calibration.markdown import table
from models.calibration.shards import read_shard

_MOVED = ("reps", "holds", "circles")
_SLOWER = 1.04
"""A set done again by somebody who keeps time nearly as well as a machine."""
_TURN_DEG, _SHIFT = 8.0, 0.06
"""How a phone is knocked: turned, and shifted by a share of the picture."""


@dataclass(frozen=True, slots=True, eq=False)
class Filmed:
    """A clip's landmarks and what it shows."""

    name: str
    track: LandmarkTrack
    shows: dict[str, Any]

    def one_set_with(self, other: "Filmed") -> bool:
        """Whether both are views of one and the same set."""
        keys = ("body", "motion", "fault", *_MOVED)
        return all(self.shows.get(key) == other.shows.get(key) for key in keys)


Pair = tuple[str, LandmarkTrack, LandmarkTrack]
"""What is tried, and both tracks."""


def filmed_in(folder: Path, model: str) -> list[Filmed]:
    """All clips of a folder that have a description. Raises FileNotFoundError if none has."""
    found = [
        Filmed(
            path.stem, track_clip(path, Settings(model=model)).track, json.loads(said.read_text())
        )
        for path in sorted(folder.glob("*.mp4"))
        if (said := path.with_suffix(".json")).exists()
    ]
    if not found:
        raise FileNotFoundError(f"{folder} has no clips (.mp4) with a .json beside them")
    return found


def made_in(folder: Path) -> list[Filmed]:
    """All clips of a folder of shards; each shard is a set of its own."""
    return [
        Filmed(
            f"{path.stem}-{clip.about['phone']}",
            track_of(clip),
            {
                "body": clip.about["body"],
                "motion": f"{clip.about['posture']} {clip.about['movement']}",
                "fault": path.stem,
            },
        )
        for path in sorted(folder.glob("*.npz"))
        for clip in read_shard(path)
    ]


def wrong_pairs(clips: Sequence[Filmed]) -> Iterator[tuple[str, Pair]]:
    """Every wrong pair with its kind."""
    for first, second in combinations(clips, 2):
        if not first.one_set_with(second):
            yield _kind(first, second), _pair(first, second)
    right = [(a, b) for a, b in permutations(clips, 2) if a.one_set_with(b)]
    for first, second in right:
        for kind, changed in ALTERED.items():
            yield kind, (f"{first.name} + {second.name}", *changed(first.track, second.track))
    for clip in clips:
        yield "one clip twice", _pair(clip, clip)


def right_pairs(clips: Sequence[Filmed]) -> Iterator[Pair]:
    """Every two views of one set."""
    for first, second in combinations(clips, 2):
        if first.one_set_with(second):
            yield _pair(first, second)


def _pair(first: Filmed, second: Filmed) -> Pair:
    return f"{first.name} + {second.name}", first.track, second.track


def _kind(first: Filmed, second: Filmed) -> str:
    same = [first.shows[key] == second.shows[key] for key in ("motion", "body")]
    kinds = {
        (True, True): "another set of the exercise",
        (True, False): "another person, same exercise",
        (False, True): "another exercise, same person",
        (False, False): "another exercise and person",
    }
    return kinds[same[0], same[1]]


def cut(track: LandmarkTrack, start_s: float, end_s: float) -> LandmarkTrack:
    """The part of a track between two times, its own clock beginning at 0."""
    kept = (track.time_s >= start_s) & (track.time_s < end_s)
    return replace(
        track,
        time_s=track.time_s[kept] - start_s,
        image_px=track.image_px[kept],
        world_m=track.world_m[kept],
        visibility=track.visibility[kept],
        problems=(),
    )


def mirrored(track: LandmarkTrack) -> LandmarkTrack:
    """What a mirrored recording looks like: sides exchanged, left and right of the picture too."""
    order = np.arange(LANDMARK_COUNT)
    for joint in Joint:
        if joint.name.startswith("LEFT"):
            other = Joint[joint.name.replace("LEFT", "RIGHT")]
            order[joint], order[other] = other, joint
    image, world = track.image_px[:, order].copy(), track.world_m[:, order].copy()
    image[..., 0] = track.width - image[..., 0]
    world[..., 0] *= -1
    return replace(track, image_px=image, world_m=world, visibility=track.visibility[:, order])


def knocked(track: LandmarkTrack) -> LandmarkTrack:
    """A phone that is turned and shifted halfway through the set."""
    late = track.time_s > track.time_s[-1] / 2
    turn = np.radians(_TURN_DEG)
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    middle = np.array([track.width, track.height]) / 2
    image, world = track.image_px.copy(), track.world_m.copy()
    away = _SHIFT * np.array([track.width, track.height])
    image[late, :, :2] = (image[late, :, :2] - middle) @ matrix.T + middle + away
    world[late, :, :2] = world[late, :, :2] @ matrix.T
    return replace(track, image_px=image, world_m=world)


def _halves(a: LandmarkTrack, b: LandmarkTrack) -> tuple[LandmarkTrack, LandmarkTrack]:
    return cut(a, 0.0, a.time_s[-1] / 2), cut(b, b.time_s[-1] / 2, b.time_s[-1])


ALTERED: dict[
    str, Callable[[LandmarkTrack, LandmarkTrack], tuple[LandmarkTrack, LandmarkTrack]]
] = {
    "right, but one mirrored": lambda a, b: (a, mirrored(b)),
    "right, but one phone knocked": lambda a, b: (a, knocked(b)),
    "other halves of one set": _halves,
    "right, but one 4 % slower": lambda a, b: (a, replace(b, time_s=b.time_s * _SLOWER)),
}


def evenly(pairs: Sequence[Pair], most: int) -> list[Pair]:
    """At most so many, from all over the list."""
    places = np.linspace(0, len(pairs) - 1, min(most, len(pairs))).round().astype(int)
    return [pairs[place] for place in places]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=12)
    parser.add_argument("--model", default="full")
    asked = parser.parse_args()
    clips = made_in(asked.folder) or filmed_in(asked.folder, asked.model)
    kinds: dict[str, list[Pair]] = {}
    for kind, pair in wrong_pairs(clips):
        kinds.setdefault(kind, []).append(pair)
    kinds["RIGHT"] = list(right_pairs(clips))
    rows = []
    for kind, pairs in kinds.items():
        why: Counter[str] = Counter()
        for name, first, second in evenly(pairs, asked.most):
            found = join(first, second)
            code = str(found.code) if isinstance(found, Refusal) else "believed"
            why[code] += 1
            print(f"{kind}: {name}: {code}", flush=True)
        refused = ", ".join(f"{code} {n}" for code, n in why.most_common() if code != "believed")
        rows.append((kind, [str(why.total()), str(why["believed"]), refused]))
    print(table("kind", rows, ("tried", "believed", "refused as")))


if __name__ == "__main__":
    main()
