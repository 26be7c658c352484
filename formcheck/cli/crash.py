"""What is said of an error that formcheck itself is to blame for."""

import os
import tempfile
import traceback
from pathlib import Path


def crash_line(error: BaseException) -> str:
    """One line about an unexpected error, and where the details are that its report needs."""
    place = traceback.extract_tb(error.__traceback__)[-1:]
    where = f", {Path(place[0].filename).name} line {place[0].lineno}" if place else ""
    what = f"something went wrong in formcheck itself ({type(error).__name__}{where})"
    try:
        handle, name = tempfile.mkstemp(prefix="formcheck-error-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write("".join(traceback.format_exception(error)))
    except OSError:
        return f"{what}; please report this line to whoever gave you formcheck."
    return (
        f"{what}; please send {name}, and the clip if it may be passed on, "
        "to whoever gave you formcheck."
    )
