"""The command in a process of its own, without its start-up: a warm process forks for each call.

A test of many commands spends most of its time on Python's start and on imports. `Warm` starts one
process that has read every module; a `logbook` on the PATH it gives hands it the words, folder,
environment and the three standard files, and ends with the exit code of the process forked for
it. What a start-up does itself is looked at elsewhere (tests/cli/test_main.py, test_package.py).
Nothing is handed on of signals or of a terminal: use it where neither is the matter.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import socket
import struct
import subprocess
import sys
from pathlib import Path
from types import TracebackType

ROOT = Path(__file__).parent.parent
# What commands import only once they need it; a missing extra is simply not there.
HEAVY = ("numpy", "scipy.signal", "scipy.ndimage", "soundfile", "av", "weasyprint", "rich.table")
CLIENT = f"""#!{sys.executable} -ISs
import json, os, socket, struct, sys
asked = json.dumps([sys.argv[1:], os.getcwd(), dict(os.environ)]).encode()
with socket.socket(socket.AF_UNIX) as door:
    door.connect(SOCKET)
    socket.send_fds(door, [struct.pack("!I", len(asked))], [0, 1, 2])
    door.sendall(asked)
    answer = door.recv(4)
sys.exit(struct.unpack("!i", answer)[0] if len(answer) == 4 else 70)
"""


class Warm:
    """A warm process and the folder whose `logbook` asks it."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        self.folder = folder
        door = folder / "door"
        client = folder / "logbook"
        client.write_text(CLIENT.replace("SOCKET", repr(str(door))), encoding="utf-8")
        client.chmod(0o755)
        command = [sys.executable, "-m", "tests.warm", str(door)]
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "COLUMNS": "80"}
        self._process = subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
        )
        assert self._process.stdout is not None
        assert self._process.stdout.readline() == "ready\n"

    def __enter__(self) -> Warm:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.terminate()
        self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()


def serve(path: str) -> None:
    """Read every module, then fork for each call at the socket `path`, until ended."""
    _read_everything()
    with socket.socket(socket.AF_UNIX) as door:
        door.bind(path)
        door.listen(16)
        print("ready", flush=True)
        while True:
            calling, _ = door.accept()
            if os.fork() == 0:
                door.close()
                _answer(calling)
            calling.close()
            while _reaped():
                pass


def _reaped() -> bool:
    try:
        return os.waitpid(-1, os.WNOHANG)[0] != 0
    except ChildProcessError:
        return False


def _read_everything() -> None:
    import logbook

    ours = (each.name for each in pkgutil.walk_packages(logbook.__path__, "logbook."))
    for name in (*HEAVY, *ours):
        if name.endswith("__main__"):
            continue
        try:
            importlib.import_module(name)
        except ImportError:
            continue


def _answer(calling: socket.socket) -> None:
    """Wait for the command in a process of its own, and say how it ended."""
    head, files, _, _ = socket.recv_fds(calling, 4, 3)
    (size,) = struct.unpack("!I", head)
    asked = b""
    while len(asked) < size:
        asked += calling.recv(size - len(asked))
    words, folder, environment = json.loads(asked)
    child = os.fork()
    if child == 0:
        calling.close()
        for ours, theirs in enumerate(files):
            os.dup2(theirs, ours)
            os.close(theirs)
        # What was opened at the start remembers whether its file could be wound back.
        sys.stdin = sys.__stdin__ = os.fdopen(0, closefd=False)
        sys.stdout = sys.__stdout__ = os.fdopen(1, "w", closefd=False)
        sys.stderr = sys.__stderr__ = os.fdopen(
            2, "w", closefd=False, buffering=1, errors="backslashreplace"
        )
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(environment)
        sys.argv = ["logbook", *words]
        os._exit(_run())
    for each in files:
        os.close(each)
    _, status = os.waitpid(child, 0)
    calling.sendall(struct.pack("!i", os.waitstatus_to_exitcode(status)))
    os._exit(0)


def _run() -> int:
    from logbook.cli.start import main

    try:
        main()
        code: object = 0
    except SystemExit as ended:
        code = ended.code
    sys.stdout.flush()
    sys.stderr.flush()
    return code if isinstance(code, int) else 0 if code is None else 1


if __name__ == "__main__":
    serve(sys.argv[1])
