"""The command line: one module a command.

Only the argument parser is imported here; a command imports what it needs when it runs, so that
``--help`` stays quick.
"""

import sys


def main() -> None:
    """Entry point of the ``formcheck`` command: errors become one line and an exit code."""
    from formcheck.cli.app import app
    from formcheck.errors import FormcheckError
    from formcheck.heap import keep_one_heap

    keep_one_heap()
    try:
        app(prog_name="formcheck")
    except FormcheckError as error:
        print(f"formcheck: {error}", file=sys.stderr)
        raise SystemExit(error.exit_code) from None
    except BrokenPipeError:
        raise SystemExit(0) from None
