"""The same jobs on a cluster, which may lose its machines on the way."""

import os
import signal
import threading

import pytest

from formcheck.batch.job import Setup
from formcheck.batch.locks import FolderLocks
from formcheck.batch.plan import Request, make_plan
from formcheck.batch.run import run_batch
from formcheck.batch.workers import cluster
from formcheck.batch.workers.cluster import Cluster
from formcheck.batch.workers.loop import outcomes
from formcheck.errors import UsageError
from tests.batch.quick_worker import QUICK_WORKER

pytestmark = pytest.mark.slow


def test_a_clip_is_finished_elsewhere_when_its_machine_is_lost(uploads, add_clip, out):
    """Clips behind a URL, on two workers of which one is killed as soon as anything is done."""
    for number in range(3):
        add_clip(f"slow-{number}.mp4")
    out.mkdir()
    setup = Setup(out)
    request = Request((uploads.as_uri(),), setup, exercise="scaption-raise", cluster="local:2")
    done = []
    with (
        FolderLocks(out) as locks,
        Cluster("local:2", setup, locks, command=QUICK_WORKER) as machines,
    ):
        jobs = make_plan(request)
        for outcome in outcomes(jobs.feed, machines, threading.Event()):
            if outcome is not None:
                done.append(outcome)
            if len(done) == 1 and outcome is not None:
                busy = next(
                    worker for worker, tasks in machines.client.processing().items() if tasks
                )
                os.kill(machines.client.run(os.getpid)[busy], signal.SIGKILL)
    assert sorted(outcome.shown for outcome in done) == [f"slow-{n}.mp4" for n in range(3)]
    for outcome in done:
        assert outcome.status == "unusable"
        assert (out / outcome.folder / "result.json").is_file()


@pytest.mark.parametrize(
    ("address", "words"),
    [("local:none", "local:4 for four"), ("tcp://127.0.0.1:1", "no cluster answers")],
)
def test_a_cluster_that_is_not_there_is_said_in_one_line(
    add_clip, uploads, out, monkeypatch, address, words
):
    monkeypatch.setattr(cluster, "_CONNECT_S", 0.5)
    add_clip("a.mp4")
    request = Request((str(uploads),), Setup(out), exercise="side-raise", cluster=address)
    with pytest.raises(UsageError, match=words):
        run_batch(request, stop=threading.Event())


def test_without_a_cluster_nothing_is_fetched_from_elsewhere(out):
    request = Request(("https://clips.example/a",), Setup(out), exercise="side-raise")
    with pytest.raises(UsageError, match="nothing goes over the network"):
        run_batch(request, stop=threading.Event())
