"""The command line as a process of its own: `combo`, or `python -m combo`.

What is neither an answer nor a problem of the input, such as a full disk, is one line on standard error and status 4.
"""

from __future__ import annotations

import codecs
import errno
import io
import os
import signal
import sys
import time
from contextlib import suppress
from types import FrameType
from typing import TextIO

FAULT = 4
INTERRUPTED = 130
TRACEBACK_VARIABLE = "COMBO_TRACEBACK"
_FORMAT = 1
_ESCAPED = "combo.escaped"
_CLOCK_YEARS = range(1980, 2107)  # those that a workbook can be written in
_TOLD = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.EBADF: "it is closed",
    errno.EACCES: "it may not be opened",
    errno.EPERM: "it may not be opened",
    errno.EROFS: "the disk takes no changes",
    errno.ENOMEM: "there is not enough memory",
    errno.EMFILE: "too many files are open",
}


def start() -> None:
    """Run the command line, and end the process."""
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, _interrupted)
    try:
        _hold_streams()
        status = _status()
    except KeyboardInterrupt:
        status = INTERRUPTED
    _leave(status)


def _status() -> int:
    """What the command line ends with, once all that it printed is handed over."""
    try:
        status = _ran()
        sys.stdout.flush()
    except Exception as error:
        _tell(error)
        return FAULT
    return status


def _ran() -> int:
    from combo.cli import main  # in here, so that Ctrl-C is heeded while it loads

    try:
        main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    return 0


def _interrupted(number: int, frame: FrameType | None) -> None:
    """Ctrl-C: an exception, but the end at once inside an import, which may take that for a missing library."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            os._exit(INTERRUPTED)
        frame = frame.f_back
    raise KeyboardInterrupt


def _leave(status: int) -> None:
    """End the process without taking apart all that it holds, which takes a tenth of a second; not where other threads
    or processes want to be ended.
    """
    from combo.cores import has_company

    if has_company():
        if status == FAULT:
            sys.stdout = io.StringIO()  # what could not be handed over is not tried again
        raise SystemExit(status)
    sys.stderr.flush()
    os._exit(status)


class _Output(io.TextIOWrapper):
    """Standard output, which tells by its name what went wrong with it."""

    def write(self, text: str) -> int:
        try:
            return super().write(text)
        except OSError as error:
            raise _of_output(error) from error

    def flush(self) -> None:
        try:
            super().flush()
        except OSError as error:
            raise _of_output(error) from error


class _Notes(io.TextIOWrapper):
    """Standard error: what cannot be told there stays untold, and the status tells."""

    def write(self, text: str) -> int:
        with suppress(OSError):
            return super().write(text)
        return len(text)

    def flush(self) -> None:
        with suppress(OSError):
            super().flush()


def _of_output(error: OSError) -> OSError:
    """The error with the name of standard output; no return where nobody reads on, as after `| head`."""
    if error.errno == errno.EPIPE:
        if hasattr(signal, "SIGPIPE"):  # others see how it ended, as with any tool
            signal.signal(signal.SIGPIPE, signal.SIG_DFL)
            os.kill(os.getpid(), signal.SIGPIPE)
        os._exit(FAULT)
    return OSError(error.errno, error.strerror, "standard output")


def _hold_streams() -> None:
    """Put our own streams in place of standard output and error; numbers that are closed are taken, so that no file
    gets one of them.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDONLY)  # the lowest number that is free; writing there fails as before
    codecs.register_error(_ESCAPED, _escaped)
    sys.stdout = _held(_Output, sys.stdout, 1)
    sys.stderr = _held(_Notes, sys.stderr, 2)


def _held(kind: type[io.TextIOWrapper], stream: TextIO | None, number: int) -> io.TextIOWrapper:
    if isinstance(stream, io.TextIOWrapper):
        encoding, by_line, at_once = stream.encoding, stream.line_buffering, stream.write_through
        return kind(stream.detach(), encoding, _ESCAPED, line_buffering=by_line, write_through=at_once)
    return kind(io.BufferedWriter(io.FileIO(number, "w", closefd=False)), "utf-8", _ESCAPED)


def _escaped(error: UnicodeError) -> tuple[str, int]:
    """Signs that the encoding lacks, such as \\u00fc: JSON stays JSON."""
    import json

    if not isinstance(error, UnicodeEncodeError):
        raise error
    return json.dumps(error.object[error.start : error.end])[1:-1], error.end


def _tell(error: Exception) -> None:
    """One line of a fault, its JSON where that was asked for, its traceback where that was."""
    told = fault_words(error)
    if os.environ.get(TRACEBACK_VARIABLE):
        import traceback

        traceback.print_exception(error)
    print(told, file=sys.stderr)
    if "--json" in sys.argv:
        import json

        with suppress(OSError):
            print(json.dumps({"format": _FORMAT, "fault": told}, indent=2), flush=True)


def fault_words(error: Exception) -> str:
    """What is wrong with this machine, or with combo, in one line.

    Examples
    --------
    >>> fault_words(OSError(errno.ENOSPC, "No space left on device", "out.xlsx"))
    'out.xlsx: the disk is full'
    >>> fault_words(MemoryError())
    'there is not enough memory'
    """
    if isinstance(error, MemoryError):
        return _TOLD[errno.ENOMEM]
    if isinstance(error, OSError) and error.strerror:
        where = f"{error.filename}: " if error.filename is not None else ""
        return where + _TOLD.get(error.errno or 0, error.strerror.lower())
    year = time.localtime().tm_year
    if year not in _CLOCK_YEARS:
        return f"the clock of this machine is wrong: it says {year}"
    kind = type(error).__name__
    return f"combo failed: {kind} in {_stage(error)} (please report; {TRACEBACK_VARIABLE}=1 shows where)"


_STAGES = {
    **dict.fromkeys(("algorithms", "candidates", "bounds"), "search"),
    "show": "output",
    "read": "reading",
    "explain": "explanation",
}
"""What a package is called where something fails in it."""


def _stage(error: Exception) -> str:
    """The package of combo that the error comes from."""
    stage, at = "combo", error.__traceback__
    while at is not None:
        name = at.tb_frame.f_globals.get("__name__", "").split(".")
        if name[0] == "combo" and len(name) > 1:
            stage = name[1]
        at = at.tb_next
    return _STAGES.get(stage, stage)


if __name__ == "__main__":
    start()
