"""Peak memory of one run of the command, as a process of its own."""

import subprocess
import sys

WORK = """
import resource
from formcheck.cli import main

try:
    main()
finally:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def peak_mb(*arguments: str) -> int:
    """What ``formcheck`` with these arguments takes at most, in MB."""
    command = [sys.executable, "-c", WORK, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return round(float(done.stdout.splitlines()[-1]))
