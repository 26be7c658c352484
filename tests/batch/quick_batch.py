"""A batch with the quick check, as a process of its own: SOURCE OUT WORKERS."""

import sys
import threading
from pathlib import Path

from formcheck.batch.job import Setup
from formcheck.batch.plan import Request
from formcheck.batch.run import run_batch

if __name__ == "__main__":
    source, out, workers = sys.argv[1:]
    request = Request((source,), Setup(Path(out)), exercise="scaption-raise", workers=int(workers))
    worker = (sys.executable, str(Path(__file__).with_name("quick_worker.py")))
    for outcome in run_batch(request, stop=threading.Event(), command=worker):
        sys.stdout.write(f"{outcome.shown} {outcome.status}\n")
