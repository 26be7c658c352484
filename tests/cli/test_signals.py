"""A command that is told to end does so tidily."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from formcheck.cli.signals import KINDS, Stopped, stop_event, stoppable

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")

SLOW = """
import sys, time
delay_s = float(sys.argv[1])
from formcheck.cli import main, doctor
from formcheck.scratch import scratch_folder
def wait():
    with scratch_folder():
        try:
            print("in work", flush=True)
            time.sleep(60)
        finally:
            print("tidied", flush=True)
            time.sleep(delay_s)
doctor._versions = wait
sys.argv = ["formcheck", "doctor"]
main()
"""


@pytest.fixture(autouse=True)
def signals_that_are_not_ignored():
    """Who starts the tests may have had signals ignored (``nohup``, a job in the background)."""
    before = {kind: signal.signal(kind, signal.default_int_handler) for kind in KINDS}
    yield
    for kind, handler in before.items():
        signal.signal(kind, handler)


@pytest.mark.parametrize("kind", KINDS)
def test_a_batch_is_asked_to_stop_and_signals_mean_what_they_did_before_afterwards(kind):
    before = signal.getsignal(kind)
    with stop_event() as (stop, came):
        os.kill(os.getpid(), kind)
        assert stop.wait(5)
        assert came == [kind]
    assert signal.getsignal(kind) == before


def test_other_commands_are_left_at_once_and_a_second_request_does_not_disturb():
    tidied = []

    def work():
        with stoppable():
            try:
                os.kill(os.getpid(), signal.SIGTERM)
            finally:
                os.kill(os.getpid(), signal.SIGHUP)
                tidied.append(True)

    with pytest.raises(Stopped) as stopped:
        work()
    assert (stopped.value.exit_code, tidied) == (128 + signal.SIGTERM, [True])


def test_what_is_ignored_stays_ignored():
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
    with stoppable():
        os.kill(os.getpid(), signal.SIGHUP)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_the_command_says_what_to_do_next_and_leaves_nothing(tmp_path, kind):
    environment = os.environ | {
        "TMPDIR": str(tmp_path),
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }
    command = [sys.executable, "-c", SLOW, "0"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, env=environment, **pipes) as process:
        assert process.stdout.readline() == "in work\n"
        process.send_signal(kind)
        printed, said = process.communicate(timeout=120)
    assert process.returncode == 128 + kind
    assert said == "formcheck: stopped before the end; what is finished is whole. Run it again.\n"
    assert printed == "tidied\n"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_a_third_request_ends_it_at_once(tmp_path):
    environment = os.environ | {
        "TMPDIR": str(tmp_path),
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }
    command = [sys.executable, "-c", SLOW, "600"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, env=environment, **pipes) as process:
        for awaited, kind in (("in work\n", "TERM"), ("tidied\n", "INT")):
            assert process.stdout.readline() == awaited
            process.send_signal(signal.Signals[f"SIG{kind}"])
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=120)
    assert process.returncode == 128 + signal.SIGTERM
