import subprocess
import sys

import pytest

from formcheck.errors import ModelError
from formcheck.landmarks import privacy


@pytest.mark.slow
def test_the_installed_pose_library_sends_nothing():
    """Neither an upload address in the library nor, where strace can watch, a connection."""
    said = privacy.check_no_metrics()
    assert "no upload address" in said
    assert ("opened no connection" in said) == privacy.can_watch()


def test_the_library_that_is_looked_at_is_there():
    libraries = privacy.pose_libraries()
    assert libraries
    assert max(path.stat().st_size for path in libraries) > 1_000_000


def test_a_library_with_the_address_is_refused(tmp_path, monkeypatch):
    library = tmp_path / "libpose.so"
    library.write_bytes(b"\0" * 50 + b"https://" + privacy.METRICS_HOST + b"/log\0")
    monkeypatch.setattr(privacy, "pose_libraries", lambda: [library])
    with pytest.raises(ModelError, match=r"libpose\.so can send usage metrics.*0\.10\.31"):
        privacy.check_no_metrics()


def test_no_library_at_all_is_an_error_in_words(monkeypatch):
    monkeypatch.setattr(privacy, "pose_libraries", list)
    with pytest.raises(ModelError, match="No pose library"):
        privacy.check_no_metrics()


needs_strace = pytest.mark.skipif(not privacy.can_watch(), reason="strace cannot watch here")


@needs_strace
@pytest.mark.slow
def test_what_is_watched_already_is_no_alarm():
    """Whoever traces formcheck is told that the trial run cannot be watched, not that it failed."""
    code = "from formcheck.landmarks import privacy; print(privacy.check_no_metrics())"
    watched = ["strace", "-f", "-qq", "-o", "/dev/null", sys.executable, "-c", code]
    done = subprocess.run(watched, capture_output=True, text=True, check=True)
    assert "a trial run cannot be watched here" in done.stdout


@needs_strace
def test_a_connection_is_noticed():
    code = "import socket; socket.socket().connect_ex(('127.0.0.1', 9))"
    assert privacy.connections([sys.executable, "-c", code])
