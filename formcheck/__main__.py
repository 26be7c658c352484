"""``python -m formcheck`` is the ``formcheck`` command."""

from formcheck.cli import main

if __name__ == "__main__":
    main()
