"""The public Python interface: what is listed is there, loads nothing beforehand, and works as shown."""

import ast
import re
import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import MagicMock

import numpy as np
import pytest

import formcheck
from formcheck.measures.measure import measure_track
from tests.known_clips import write_known_clip
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_sets import press_cycle
from tests.views.two_cameras import Phone, filmed

PAGE = (Path(formcheck.__file__).parent / "API.md").read_text("utf-8")
EXAMPLES = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)


def fresh(code):
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_importing_it_loads_nothing_but_itself():
    loaded = fresh(
        "import sys; before = set(sys.modules); import formcheck; dir(formcheck)\n"
        "print(sorted(m for m in set(sys.modules) - before "
        "if m.partition('.')[0] not in sys.stdlib_module_names))"
    )
    assert loaded == "['formcheck', 'formcheck.version']"


@pytest.mark.parametrize("name", formcheck.__all__)
def test_every_public_name_is_there_and_says_what_it_is(name):
    found = getattr(formcheck, name)
    assert name in dir(formcheck)
    assert name == "__version__" or found.__doc__


def test_type_checkers_see_the_same_names():
    tree = ast.parse(Path(formcheck.__file__).read_text("utf-8"))
    (typed,) = (node for node in tree.body if isinstance(node, ast.If))
    seen = {(n.module, alias.asname) for n in typed.body for alias in n.names}
    assert seen == {(home, name) for name, home in formcheck._HOME.items()}
    assert (Path(formcheck.__file__).parent / "py.typed").exists()


def test_the_page_lists_every_public_name():
    listed = set(re.findall(r"`(\w+)`", PAGE.partition("## What there is")[2]))
    assert set(formcheck.__all__) - listed == {"__version__"}
    assert listed <= set(formcheck.__all__)


def test_a_name_that_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match="chek_clip"):
        formcheck.chek_clip  # noqa: B018


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A folder with a clip of a belly press, two clips of one set of raises, a folder of clips, and
    landmarks of all of them.
    """
    folder = tmp_path_factory.mktemp("api")
    arm, duration_s, _ = press_cycle(["belly", "belly"])
    track = make_track(duration_s=duration_s, right=arm, yaw_deg=45)
    write_known_clip(folder / "set.mp4", track, folder / "cache")
    raises = cycles([2.2, 5.9, 9.6], 8, 92, up_s=1.2, top_s=0.8, down_s=1.2)
    arm = Arm(elevation=raises, plane=constant(35.0), elbow=constant(8.0))
    phones = Phone(), Phone(yaw_deg=70)
    both = filmed(*phones, later_s=0.8, duration_s=14, right=arm)
    for name, track in zip(("front", "side"), both, strict=True):
        write_known_clip(folder / f"{name}.mp4", track, folder / "cache")
    (folder / "uploads").mkdir()
    shutil.copy(folder / "set.mp4", folder / "uploads" / "monday.mp4")
    return folder


@pytest.fixture(scope="module")
def run(place):
    """Run all examples of the page, one after the other; what each printed, and what was plotted."""
    plot = MagicMock()
    printed = []
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(place)
        patch.setenv("FORMCHECK_CACHE_DIR", str(place / "cache"))
        patch.setitem(sys.modules, "matplotlib", SimpleNamespace(pyplot=plot))
        patch.setitem(sys.modules, "matplotlib.pyplot", plot)
        names = {"__name__": "__main__", "print": lambda *parts: printed[-1].append(parts)}
        for example in EXAMPLES:
            printed.append([])
            exec(compile(example, "API.md", "exec"), names)
    return printed, plot


@pytest.mark.slow
def test_the_first_example_gives_a_result_in_three_lines_and_the_sheets(run, place):
    (checked,) = run[0][0][0]
    assert str(checked) == "<Checked set.mp4: belly-press, right, 2 whole, score 86>"
    assert (place / "sheets" / "sheet.html").exists()


@pytest.mark.slow
def test_what_is_found_can_be_told_in_words(run):
    *problems, first, second = run[0][1]
    assert all(message.endswith(".") for (message,) in problems)
    assert first == (1, "right", 87, ["hold"])
    assert second[:2] == (2, "right")


@pytest.mark.slow
def test_two_phones_give_one_result_and_say_how_they_fit(run):
    ((checked, fit),) = run[0][2]
    assert str(checked).startswith("<Checked front.mp4: scaption-raise, right, 3 whole")
    assert fit == "70 degrees apart, -0.80 s"


@pytest.mark.slow
def test_measures_can_be_plotted(run):
    plot = run[1]
    times_s, elbow_deg = plot.plot.call_args.args
    assert times_s.shape == elbow_deg.shape
    assert np.nanmax(elbow_deg) == pytest.approx(90, abs=10)
    plot.savefig.assert_called_once_with("elbow.png")


@pytest.mark.slow
def test_a_folder_is_checked(run, place):
    ((shown, status, score, why),) = run[0][4]
    assert (shown, status, score) == ("monday.mp4", "analysed", 86)
    assert why
    assert (place / "results" / "monday" / "coach.html").exists()
    assert (place / "results" / "summary.html").exists()


@pytest.mark.slow
def test_an_exercise_made_in_code_is_judged_by(run):
    assert run[0][5] == [("short-press", True)]


@pytest.mark.slow
def test_a_result_is_recorded_for_its_client(run, place):
    assert run[0][6][0] == ("sheets", "added")
    assert (place / "records.sqlite").exists()


@pytest.mark.slow
def test_the_result_file_says_what_was_outside(run):
    assert {check for _, check, *_ in run[0][7]} == {"hold"}


def test_a_table_is_plain_arrays_and_a_frame_where_a_library_is_there(monkeypatch):
    table = measure_track(make_track(duration_s=2))
    arrays = table.to_arrays()
    assert next(iter(arrays)) == "time_s"
    assert {f"{name}_sd" for name in table.columns} < set(arrays)
    assert {array.shape for array in arrays.values()} == {(len(table.time_s),)}
    for library, to_frame in (("pandas", table.to_pandas), ("polars", table.to_polars)):
        monkeypatch.setitem(sys.modules, library, SimpleNamespace(DataFrame=dict))
        assert to_frame().keys() == arrays.keys()
        monkeypatch.setitem(sys.modules, library, None)
        with pytest.raises(formcheck.UsageError, match=f"pip install {library}"):
            to_frame()


@pytest.mark.slow
def test_exercises_that_a_clip_may_show_come_with_how_likely_they_are(place, monkeypatch):
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(place / "cache"))
    best = formcheck.recognise_clip(str(place / "set.mp4"))[0]
    assert (best.exercise.name, best.side) == ("belly-press", "right")
    assert 0.5 < best.probability < 1
