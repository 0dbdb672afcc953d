"""The program's front door: signals are seen to before anything that takes time is imported.

Whoever presses Ctrl-C, also in the first moment, gets one line and exit code 130. A request to
end (SIGTERM, or SIGHUP from a terminal that is gone) ends the program by its own way out, so
that nothing half written stays and no helper process goes on.
"""

from __future__ import annotations

import os
import signal
from types import FrameType

_STOPPED = 130


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            # Whoever started this may have said that it goes on after a hang-up.
            if number is not None and signal.getsignal(number) is signal.SIG_DFL:
                signal.signal(number, _end)
        from logbook.cli.main import main as run

        run()
    except KeyboardInterrupt:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        os.write(2, b"logbook: stopped; nothing was changed\n")
        os._exit(_STOPPED)


def _end(number: int, _frame: FrameType | None) -> None:
    raise SystemExit(128 + number)
