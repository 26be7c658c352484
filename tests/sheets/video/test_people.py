"""The still that asks who is meant shows everybody who may be, without their faces."""

from dataclasses import replace

import cv2
import numpy as np

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.landmarks.track import Bystanders, Joint
from formcheck.sheets.video.people import still_of_people

ASIDE_PX = 200


def test_all_people_are_shown_alike_and_nobody_s_face(track):
    image = np.zeros((track.height, track.width + ASIDE_PX, 3), np.uint8)
    image[:, ::4] = image[:, 1::4] = 255
    other = Bystanders(track.time_s, track.image_px[:, :, :2] + (ASIDE_PX, 0))
    two = replace(track, bystanders=other, width=track.width + ASIDE_PX)
    body = track.image_px[0, :, :2]
    x, y = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    choice = RecordingProblem(
        ProblemCode.WHO_IS_MEANT,
        params={
            "at_s": 0.0,
            "numbers": (1.0, 2.0),
            "x_px": (x, x + ASIDE_PX),
            "y_px": (y, y),
        },
    )
    still = still_of_people([Frame(0.0, image)], two, choice, show_face=False)
    shown = cv2.imdecode(np.frombuffer(still.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE).astype(float)

    def detail(joint, aside_px):
        x, y = (round(value) for value in body[joint] + (aside_px, 0))
        return shown[y - 2 : y + 3, x - 6 : x + 7].std()

    for aside_px in (0, ASIDE_PX):
        assert detail(Joint.RIGHT_ELBOW, aside_px) > 60
        assert detail(Joint.NOSE, aside_px) < 30
