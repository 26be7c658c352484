"""The command line: one module a command.

Only the argument parser is imported here; a command imports what it needs when it runs, so that
``--help`` stays quick.
"""

import sys


def main() -> None:
    """Entry point of the ``formcheck`` command: errors become one line and an exit code."""
    from formcheck.cli.signals import Stopped, stoppable
    from formcheck.cli.streams import open_closed, print_error, robust

    open_closed()
    sys.stdout, sys.stderr = robust(sys.stdout), robust(sys.stderr)
    try:
        with stoppable():
            code = _run()
    except Stopped as stopped:
        from formcheck.scratch import end_all

        end_all()
        print_error("stopped before the end; what is finished is whole. Run it again.")
        code = stopped.exit_code
    sys.stdout.flush()
    if failure := getattr(sys.stdout, "failure", ""):
        print_error(f"what was printed is not whole: {failure}. Run it again.")
        code = code or 2
    raise SystemExit(code)


def _run() -> int:
    """Run the command that was asked for; its exit code."""
    from formcheck.cli.crash import crash_line
    from formcheck.cli.streams import print_error
    from formcheck.errors import FormcheckError
    from formcheck.heap import keep_one_heap

    try:
        keep_one_heap()
        from formcheck.cli.app import app

        app(prog_name="formcheck")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(bool(ended.code))
    except FormcheckError as error:
        print_error(str(error))
        return error.exit_code
    except Exception as error:
        print_error(crash_line(error))
        return 1
    return 0
