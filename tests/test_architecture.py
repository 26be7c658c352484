"""The packages depend on each other as the design says, and the command starts quickly."""

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "formcheck"
MODULES = sorted(PACKAGE.rglob("*.py"))
TESTS = sorted(Path(__file__).parent.rglob("*.py"))


@cache
def tree_of(path):
    return ast.parse(path.read_text("utf-8"))


def test_imports_keep_to_the_flow():
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=PACKAGE.parent, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def importers_of(package):
    found = []
    for module in MODULES:
        for node in ast.walk(tree_of(module)):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            if any(name.split(".")[0] == package for name in names):
                found.append(module.relative_to(PACKAGE).as_posix())
                break
    return found


def test_the_pose_library_is_imported_in_one_module():
    assert importers_of("mediapipe") == ["landmarks/pose.py"]


def test_the_video_library_is_imported_where_clips_are_read_and_where_they_are_written():
    assert set(importers_of("av")) <= {
        "clips/reader.py",
        "clips/decoder.py",
        "clips/sound.py",
        "sheets/video/encoder.py",
    }


def test_tests_share_helper_modules_and_never_reach_into_each_other():
    reaching = [
        (path.name, node.module)
        for path in TESTS
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("tests.")
        if node.module.rpartition(".")[2].startswith(("test_", "conftest"))
    ]
    assert reaching == []


MAY_IMPORT = {
    "cli": (
        *("batch", "demo", "pipeline", "sheets", "words", "records", "exercises", "learn"),
        "filming",
        "catalogue",
    ),
    "batch": (
        "pipeline",
        "records",
        "sheets",
        "words",
        "exercises",
        "catalogue",
        "clips",
        "checks.result",
    ),
}
"""What the command line and batches build on, besides the leaf modules. A batch also looks at a clip
before it is checked: what it is, how long it says it is."""
LEAVES = (
    *(
        "errors",
        "text",
        "text_file",
        "heap",
        "atomic_output",
        "clip_name",
        "result_folder",
        "scratch",
        "file_lock",
    ),
    "version",
)
EXCEPTIONS = {
    "cli/doctor.py": ("clips.reader", "landmarks.bundles", "landmarks.cache", "landmarks.privacy"),
    "batch/run.py": ("landmarks.bundles",),
    "batch/ledger.py": ("landmarks.bundles",),
}
"""The doctor looks at each part of an installation; a batch knows finished work by its model too."""


@pytest.mark.parametrize("package", MAY_IMPORT)
def test_the_command_line_and_batches_reach_past_the_pipeline_nowhere(package):
    for module in (PACKAGE / package).rglob("*.py"):
        place = module.relative_to(PACKAGE).as_posix()
        allowed = (package, *MAY_IMPORT[package], *LEAVES, *EXCEPTIONS.get(place, ()))
        for name in imported_when_running(module):
            assert any(f"{name}.".startswith(f"formcheck.{one}.") for one in allowed), (
                f"{place} imports {name}"
            )


def imported_when_running(module):
    """The modules of formcheck that a module imports, in functions too, but not for types alone."""
    tree = tree_of(module)
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            node.body = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (a.name for a in node.names if a.name.startswith("formcheck."))
        elif isinstance(node, ast.ImportFrom) and node.module == "formcheck":
            yield from (f"formcheck.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module.startswith("formcheck."):
            yield node.module


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.relative_to(PACKAGE).as_posix())
def test_modules_and_functions_keep_their_size(module):
    source = module.read_text("utf-8")
    assert len(source.splitlines()) <= 400
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            if body:
                length = (body[-1].end_lineno or 0) - body[0].lineno + 1
                assert length <= 40, f"{node.name} has {length} lines"


HEAVY = {"mediapipe", "scipy", "cv2", "av", "numpy", "jinja2", "rich", "markdown_it"}
"""The argument parser itself may load pydantic, which takes a twentieth of a second."""


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"], ["--version"]])
def test_help_imports_nothing_heavy(arguments):
    code = (
        "import sys\n"
        "from formcheck.cli import main\n"
        f"sys.argv = ['formcheck', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(sorted({name.split('.')[0] for name in sys.modules}), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    loaded = set(ast.literal_eval(done.stderr.strip().splitlines()[-1]))
    assert not loaded & HEAVY


def test_scoring_landmarks_that_are_known_loads_neither_the_pose_model_nor_scipy():
    """They take seconds, most of what checking a clip again would cost."""
    code = (
        "import sys, formcheck.pipeline.check, formcheck.cli.check, formcheck.sheets.write\n"
        "print({'mediapipe', 'scipy'} & set(sys.modules))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_nothing_happens_at_import(tmp_path):
    """Importing the package makes no file or folder and configures no logging."""
    code = "import logging, formcheck, formcheck.pipeline.check\nassert not logging.getLogger().handlers\n"
    environment = {"HOME": str(tmp_path), "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        [sys.executable, "-B", "-c", code],
        capture_output=True,
        text=True,
        env=environment,
        cwd=PACKAGE.parent,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert list(tmp_path.iterdir()) == []
