import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from formcheck.errors import ModelError
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.pose import PoseModel
from formcheck.landmarks.track import Joint


def test_a_picture_with_padded_rows_is_read_like_a_compact_one(bundle, pictures):
    padded = np.zeros((640, 384, 3), dtype=np.uint8)
    padded[:, :360] = pictures[0]
    view = padded[:, :360]
    assert not view.flags.c_contiguous
    with PoseModel(bundle, "detect") as model:
        (expected,), (found,) = model.people(pictures[0].copy()), model.people(view)
    np.testing.assert_array_equal(found.image, expected.image)


def test_left_and_right_are_the_subjects_own(bundle, pictures):
    with PoseModel(bundle, "detect") as model:
        (pose,) = model.people(pictures[0])
    assert pose.image[Joint.LEFT_SHOULDER, 0] > pose.image[Joint.RIGHT_SHOULDER, 0]
    assert pose.world.shape == (33, 3)
    assert np.linalg.norm(pose.world[Joint.LEFT_SHOULDER] - pose.world[Joint.LEFT_HIP]) < 0.8
    assert pose.visibility.min() >= 0
    assert pose.visibility.max() <= 1


def test_times_closer_than_a_millisecond_are_accepted(bundle, pictures):
    with PoseModel(bundle, "track") as model:
        counts = [
            len(model.people(p, t)) for p, t in zip(pictures, (0, 0.0001, 0.0001), strict=False)
        ]
    assert counts == [1, 1, 1]


@pytest.mark.slow
def test_following_the_same_pictures_twice_gives_the_same_numbers(bundle, pictures):
    runs = []
    for _ in range(2):
        with PoseModel(bundle, "track") as model:
            runs.append([model.people(p, i / 15)[0].image for i, p in enumerate(pictures[:5])])
    np.testing.assert_array_equal(*runs)


def test_nobody_is_found_in_an_empty_picture(bundle):
    with PoseModel(bundle, "detect") as model:
        assert model.people(np.full((640, 360, 3), 128, dtype=np.uint8)) == []


_STARTED = """
import sys
started = []
def note(event, args):
    if event in {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "os.forkpty"}:
        started.append((event, args))
sys.addaudithook(note)
import formcheck.landmarks.pose
assert "mediapipe" in sys.modules
assert "sounddevice" not in sys.modules
print(started)
"""


@pytest.mark.slow
def test_loading_the_pose_library_starts_no_program():
    done = subprocess.run(
        [sys.executable, "-c", _STARTED], capture_output=True, text=True, check=False
    )
    assert (done.stdout.strip(), done.stderr) == ("[]", "")


def test_native_notes_stay_off_the_screen(bundle, pictures, capfd):
    with PoseModel(bundle, "track") as model:
        model.people(pictures[0], 0.0)
    assert capfd.readouterr().err == ""


def test_messages_between_pictures_still_reach_the_screen(bundle, pictures, capfd):
    with PoseModel(bundle, "track") as model:
        model.people(pictures[0], 0.0)
        os.write(2, b"half way\n")
    assert capfd.readouterr().err == "half way\n"


@pytest.mark.slow
def test_a_closed_standard_error_does_no_harm(pictures):
    code = (
        "import os; os.close(2)\n"
        "import numpy\n"
        "from formcheck.landmarks.bundles import find_bundle\n"
        "from formcheck.landmarks.pose import PoseModel\n"
        "with PoseModel(find_bundle('lite'), 'look') as model:\n"
        "    print(model.people(numpy.zeros((64, 64, 3), dtype=numpy.uint8)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        check=False,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert (done.returncode, done.stdout) == (0, "[]\n")


def test_a_bundle_that_cannot_be_started_is_an_error_in_words(tmp_path):
    path = tmp_path / "rubbish.task"
    path.write_bytes(b"rubbish" * 100)
    with (
        pytest.raises(ModelError, match=r"rubbish\.task cannot be started.*formcheck doctor"),
        PoseModel(Bundle("rubbish", path, "0"), "detect"),
    ):
        pass
