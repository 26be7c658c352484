"""The joints and bones by which two cameras are joined."""

from typing import NamedTuple

import numpy as np

from formcheck.landmarks.track import Joint

JOINTS = (
    Joint.NOSE,
    *(Joint.LEFT_EAR, Joint.RIGHT_EAR),
    *(Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER),
    *(Joint.LEFT_ELBOW, Joint.RIGHT_ELBOW),
    *(Joint.LEFT_WRIST, Joint.RIGHT_WRIST),
    *(Joint.LEFT_HIP, Joint.RIGHT_HIP),
    *(Joint.LEFT_KNEE, Joint.RIGHT_KNEE),
    *(Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE),
)
PLACE = {joint: place for place, joint in enumerate(JOINTS)}
"""Where a joint stands in the arrays of this package."""
MIRRORED = np.array(
    [
        PLACE[Joint[joint.name.replace("LEFT", "*").replace("RIGHT", "LEFT").replace("*", "RIGHT")]]
        for joint in JOINTS
    ]
)
"""The place of the same joint of the other side."""


class Bone(NamedTuple):
    """Two joints whose distance hardly changes; bones of one ``kind`` are equally long.

    ``sd_m`` is how much the distance of the landmarks varies in metres: landmarks slide on the
    body, and a shoulder may be hiked.
    """

    start: Joint
    end: Joint
    kind: int
    sd_m: float


def _pair(start: str, end: str, kind: int, sd_m: float) -> tuple[Bone, Bone]:
    left, right = (
        Bone(Joint[f"{side}_{start}"], Joint[f"{side}_{end}"], kind, sd_m)
        for side in ("LEFT", "RIGHT")
    )
    return left, right


TRUNK_KIND = 6
"""The kind of the trunk's sides, which give the scale. Mechanical."""
BONES = (
    *_pair("SHOULDER", "ELBOW", 0, 0.012),
    *_pair("ELBOW", "WRIST", 1, 0.012),
    Bone(Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER, 2, 0.025),
    Bone(Joint.LEFT_HIP, Joint.RIGHT_HIP, 3, 0.012),
    *_pair("HIP", "KNEE", 4, 0.02),
    *_pair("KNEE", "ANKLE", 5, 0.02),
    *_pair("SHOULDER", "HIP", TRUNK_KIND, 0.04),
    Bone(Joint.LEFT_EAR, Joint.RIGHT_EAR, 7, 0.01),
    Bone(Joint.NOSE, Joint.LEFT_EAR, 8, 0.015),
    Bone(Joint.NOSE, Joint.RIGHT_EAR, 8, 0.015),
)
"""How much the distance of two landmarks varies: chosen on rendered people and one real man, whose
angles change by less than a degree at half and at twice of it. Read on rendered people."""
KINDS = 9
"""Kinds of bones. Mechanical."""

STARTS = np.array([PLACE[bone.start] for bone in BONES])
ENDS = np.array([PLACE[bone.end] for bone in BONES])
KIND = np.array([bone.kind for bone in BONES])
SD_M = np.array([bone.sd_m for bone in BONES])
BODY_BONES = 12
"""The first bones are those of the body; the others are the head's. Mechanical."""
