"""The program's front door: signals are seen to before anything that takes time is imported.

Whoever presses Ctrl-C, also in the first moment, gets one line and exit code 130. A request to
end (SIGTERM, or SIGHUP from a terminal that is gone) ends the program by its own way out, so
that nothing half written stays and no helper process goes on.

This module is imported by nothing but the program itself. Its first lines are as early as a Python
program can be: until then, while Python itself begins, Ctrl-C is Python's to answer. They take the
signals' C half, since importing the other one takes time in which a Ctrl-C would be a traceback.
"""

import _signal  # type: ignore[import-not-found]  # `signal` without its names
import os

_STOPPED = 130


def _stop(_number: int, _frame: object) -> None:
    os.write(2, b"logbook: stopped; nothing was changed\n")
    os._exit(_STOPPED)


# Whoever started this may have said that it shall go on.
_ASKED = _signal.getsignal(_signal.SIGINT) is not _signal.SIG_IGN
if _ASKED:
    _signal.signal(_signal.SIGINT, _stop)


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(_signal, name, None)
            if number is not None and _signal.getsignal(number) == _signal.SIG_DFL:
                _signal.signal(number, _end)
        from logbook.cli.main import main as run

        if _ASKED:
            # From here on what was begun is taken back first.
            _signal.signal(_signal.SIGINT, _signal.default_int_handler)
        try:
            run()
        finally:
            if _ASKED:
                # The answer is given; on the way out there is nothing left to take back.
                _signal.signal(_signal.SIGINT, _signal.SIG_DFL)
    except KeyboardInterrupt:
        _stop(0, None)


def _end(number: int, _frame: object) -> None:
    raise SystemExit(128 + number)
