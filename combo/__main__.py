"""The command line as a process of its own: `combo`, or `python -m combo`."""

from __future__ import annotations

import os
import sys
from contextlib import suppress

from combo.cli import main
from combo.cores import has_company


def start() -> None:
    """Run the command line, and end the process."""
    try:
        main()
    except SystemExit as end:
        if isinstance(end.code, int) and not has_company():
            _leave_at_once(end.code)
        raise


def _leave_at_once(status: int) -> None:
    """End the process without taking apart all that it holds, object by object, which takes a tenth of a second; not
    where what is printed cannot be handed over.
    """
    with suppress(OSError):
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    start()
