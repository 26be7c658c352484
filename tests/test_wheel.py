"""What a plain ``pip install`` brings: the pose models that are offered, and every licence."""

import re
import subprocess
import sys
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest

from formcheck.cli.options import ModelOption

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """A wheel of this tree, open for reading."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    with zipfile.ZipFile(next(folder.glob("*.whl"))) as opened:
        yield opened


def metadata(wheel):
    (name,) = (name for name in wheel.namelist() if name.endswith(".dist-info/METADATA"))
    return Parser().parsestr(wheel.read(name).decode("utf-8"))


def text(wheel, end):
    (name,) = (name for name in wheel.namelist() if name.endswith(end))
    return wheel.read(name).decode("utf-8")


def test_every_pose_model_that_is_offered_is_installed(wheel):
    installed = {Path(name).stem for name in wheel.namelist() if name.endswith(".task")}
    assert installed == {model.value for model in ModelOption}


def test_the_licences_of_all_that_is_in_it_are_named_and_carried(wheel):
    assert metadata(wheel)["License-Expression"] == "Apache-2.0 AND OFL-1.1"
    assert "Apache License" in text(wheel, ".dist-info/licenses/LICENSE")
    assert "OPEN FONT LICENSE" in text(wheel, "licenses/formcheck/sheets/typesetting/fonts/OFL.txt")


def test_the_notice_of_the_pose_models_says_who_made_them_and_what_was_changed(wheel):
    notice = text(wheel, ".dist-info/licenses/models/LICENSE")
    assert all(f"{model.value}.task" in notice for model in ModelOption)
    assert "published by" in notice
    assert "Changes made" in notice
    assert "Apache License" in notice


def test_every_font_is_listed_with_a_licence_that_the_wheel_names(wheel):
    fonts = {Path(name).name for name in wheel.namelist() if name.endswith((".ttf", ".otf"))}
    rows = re.findall(r"^\| (`.+`) \|.*\| (\S+) \|$", text(wheel, "fonts/README.md"), re.MULTILINE)
    listed = {font: licence for fonts, licence in rows for font in re.findall("`(.+?)`", fonts)}
    assert listed.keys() == fonts
    assert set(listed.values()) <= set(metadata(wheel)["License-Expression"].split(" AND "))
