"""Processes without their start-up: a warm process forks for each command or worker.

A test of many commands spends most of its time on Python's start and on imports. `Warm` starts one
process that has read the program. What is forked for a call is a process like any other: it has its
own number (signals go to it), the folder, environment and files it was given, a session of its own
where one is asked for, and no file besides. Two doors lead to it: `Warm.command` and `Warm.call`
return a `subprocess.Popen`; and a `logbook` stands in `Warm.folder` for shells, editors and mount
namespaces. What a start-up does itself (signals while modules are imported, the encodings that
Python takes from its environment, what is imported at all) is tried with real starts.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import io
import json
import os
import pkgutil
import selectors
import shutil
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

ROOT = Path(__file__).parent.parent
# What commands import only once they need it; a missing extra is simply not there.
HEAVY = ("numpy", "scipy.signal", "scipy.ndimage", "soundfile", "av", "weasyprint", "rich.table")
HEAVY_ROOMS = ("logbook.listening", "logbook.playing", "logbook.drafting")
_NAMESPACE = "/proc/self/ns/mnt"
CLIENT = f"""#!{sys.executable} -ISs
import json, os, signal, socket, struct, sys
def is_open(number):
    try:
        os.fstat(number)
    except OSError:
        return False
    return True
streams = [number for number in (0, 1, 2) if is_open(number)]
files = list(streams)
if os.path.exists({_NAMESPACE!r}):
    files.append(os.open({_NAMESPACE!r}, os.O_RDONLY))
asked = {{"words": sys.argv[1:], "folder": os.getcwd(), "environment": dict(os.environ),
         "streams": streams}}
asked = json.dumps(asked).encode()
with socket.socket(socket.AF_UNIX) as door:
    door.connect(SOCKET)
    socket.send_fds(door, [struct.pack("!I", len(asked))], files)
    door.sendall(asked)
    pid, = struct.unpack("!I", door.recv(4))
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, lambda number, _: os.kill(pid, number))
    answer = door.recv(4)
code = os.waitstatus_to_exitcode(struct.unpack("!I", answer)[0]) if len(answer) == 4 else 70
if code < 0:
    signal.signal(-code, signal.SIG_DFL) if -code not in (signal.SIGKILL, signal.SIGSTOP) else None
    os.kill(os.getpid(), -code)
os._exit(code)
"""


class Warm:
    """A warm process, and the folder whose `logbook` asks it.

    With `heavy` it has also read what listens, plays and draws pages.
    """

    def __init__(self, folder: Path, *, heavy: bool = True) -> None:
        folder.mkdir()
        self.folder = folder
        # The name of a socket is short; that of a test's folder may not be.
        self._near = Path(tempfile.mkdtemp(prefix="logbook-"))
        self.door = self._near / "door"
        client = folder / "logbook"
        client.write_text(CLIENT.replace("SOCKET", repr(str(self.door))), encoding="utf-8")
        client.chmod(0o755)
        command = [sys.executable, "-m", "tests.warm", str(self.door), "heavy" if heavy else ""]
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "COLUMNS": "80"}
        # It ends when its standard input does: also where the tests themselves are killed.
        self._process = subprocess.Popen(
            command, cwd=ROOT, env=environment, start_new_session=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
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
        self.close()

    def close(self) -> None:
        """End the warm process."""
        self._process.communicate()
        shutil.rmtree(self._near)

    def command(self, *words: str, **options: Any) -> Started:
        """Start `logbook` with these words; `options` are those of subprocess.Popen."""
        return Started(self.door, words, **options)

    def call(self, function: str, *words: str, **options: Any) -> Started:
        """Start a process that calls "module:function" with these words."""
        return Started(self.door, words, function, **options)

    def run(
        self,
        *words: str,
        function: str = "",
        input: Any = None,
        timeout: float = 120,
        check: bool = False,
        **options: Any,
    ) -> subprocess.CompletedProcess[Any]:
        """Give a command, wait for its end and return what it said, as subprocess.run does."""
        options = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options}
        options["stdin"] = subprocess.DEVNULL if input is None else subprocess.PIPE
        with Started(self.door, words, function, **options) as started:
            try:
                out, err = started.communicate(input, timeout)
            except BaseException:
                started.kill()
                raise
        ended = subprocess.CompletedProcess(words, started.returncode, out, err)
        if check:
            ended.check_returncode()
        return ended


class Started(subprocess.Popen[Any]):
    """A process that was forked for us: its parent waits for it and says how it ended."""

    def __init__(
        self, door: Path, words: Sequence[str], function: str = "", **options: Any
    ) -> None:
        self._door, self._function = door, function
        super().__init__(["logbook", *words], **options)

    def _execute_child(
        self,
        args: Sequence[str],
        executable: object,
        preexec_fn: object,
        close_fds: object,
        pass_fds: object,
        cwd: object,
        env: Mapping[str, str] | None,
        startupinfo: object,
        creationflags: object,
        shell: object,
        p2cread: int,
        p2cwrite: int,
        c2pread: int,
        c2pwrite: int,
        errread: int,
        errwrite: int,
        restore_signals: object,
        gid: object,
        gids: object,
        uid: object,
        umask: object,
        start_new_session: bool,
        *_: object,
    ) -> None:
        asked = {
            "words": args[1:],
            "function": self._function,
            "folder": str(cwd or os.getcwd()),
            "environment": dict(os.environ if env is None else env),
            "streams": [0, 1, 2],
            "session": start_new_session,
        }
        said = json.dumps(asked).encode()
        given = [own if own != -1 else usual
                 for usual, own in enumerate((p2cread, c2pwrite, errwrite))]  # fmt: skip
        self._line = socket.socket(socket.AF_UNIX)
        self._line.connect(str(self._door))
        socket.send_fds(self._line, [struct.pack("!I", len(said))], given)
        self._line.sendall(said)
        (self.pid,) = struct.unpack("!I", self._line.recv(4))
        self._child_created = True
        self._close_pipe_fds(  # type: ignore[attr-defined]
            p2cread, p2cwrite, c2pread, c2pwrite, errread, errwrite
        )

    def _try_wait(self, wait_flags: int) -> tuple[int, int]:
        self._line.setblocking(not wait_flags & os.WNOHANG)
        try:
            answer = self._line.recv(4)
        except BlockingIOError:
            return 0, 0
        if len(answer) != 4:
            raise ChildProcessError("the warm process is gone")
        self._line.close()
        return self.pid, struct.unpack("!I", answer)[0]

    def _internal_poll(self, *_: object, **__: object) -> int | None:
        if self.returncode is None:
            pid, status = self._try_wait(os.WNOHANG)
            if pid:
                self._handle_exitstatus(status)  # type: ignore[attr-defined]
        return self.returncode


# In no cache: there are tests that empty every one.
_shared: list[Warm] = []


def shared() -> Warm:
    """The warm process of all tests that run in this one, without what is heavy."""
    if not _shared:
        folder = Path(tempfile.mkdtemp(prefix="logbook-warm-"))
        _shared.append(Warm(folder / "bin", heavy=False))
    return _shared[0]


def end_shared() -> None:
    """End the shared warm process, if there is one."""
    while _shared:
        warm = _shared.pop()
        warm.close()
        shutil.rmtree(warm.folder.parent)


# In the warm process


def serve(path: str, *, heavy: bool) -> None:
    """Read the program, then fork for each call at the socket `path`, until standard input ends."""
    # Whoever started the tests may have said that Ctrl-C is ignored; commands look at that.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    _read_everything(heavy)
    _practise()
    gc.collect()
    gc.freeze()
    children: dict[int, tuple[int, socket.socket]] = {}
    with socket.socket(socket.AF_UNIX) as door, selectors.DefaultSelector() as waiting:
        door.bind(path)
        door.listen(64)
        waiting.register(door, selectors.EVENT_READ)
        waiting.register(0, selectors.EVENT_READ)
        print("ready", flush=True)
        while True:
            for key, _ in waiting.select():
                if key.fileobj == 0:
                    for pid, _ in children.values():
                        os.kill(pid, signal.SIGKILL)
                    return
                if key.fileobj is door:
                    calling, _ = door.accept()
                    pid = _fork(calling)
                    ended = os.pidfd_open(pid)
                    children[ended] = pid, calling
                    waiting.register(ended, selectors.EVENT_READ)
                else:
                    waiting.unregister(key.fd)
                    pid, calling = children.pop(key.fd)
                    os.close(key.fd)
                    _, status = os.waitpid(pid, 0)
                    with calling, contextlib.suppress(OSError):
                        calling.sendall(struct.pack("!I", status))


def _read_everything(heavy: bool) -> None:
    import logbook

    ours = (each.name for each in pkgutil.walk_packages(logbook.__path__, "logbook."))
    for name in (*(HEAVY if heavy else ()), *ours):
        if name.endswith("__main__") or (not heavy and name.startswith(HEAVY_ROOMS)):
            continue
        try:
            importlib.import_module(name)
        except ImportError:
            continue


def _practise() -> None:
    """Give a few commands on a log that is thrown away: what the first ones work out stays.

    SQLAlchemy looks through all tables once, and compiles each statement; Typer builds commands.
    """
    from logbook.cli.log import settings
    from logbook.cli.main import run
    from tests.compiled import share_compiled

    share_compiled()
    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
        for words in ("song add Practice", "song list", "song edit Practice --notes x", "history"):
            assert run(["--db", str(Path(folder) / "log.db"), *words.split()]) == 0
    vars(settings).update(vars(type(settings)()))


def _fork(calling: socket.socket) -> int:
    """Fork for one call, and tell the caller the number of the process."""
    head, files, _, _ = socket.recv_fds(calling, 4, 4)
    (size,) = struct.unpack("!I", head)
    said = b""
    while len(said) < size:
        said += calling.recv(size - len(said))
    pid = os.fork()
    if pid == 0:
        code = 70
        try:
            asked = json.loads(said)
            _become(asked, files)
            code = _ended(_work(asked))
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)
    for each in files:
        os.close(each)
    with contextlib.suppress(OSError):
        calling.sendall(struct.pack("!I", pid))
    return pid


def _become(asked: dict[str, Any], files: list[int]) -> None:
    """Take on what the caller has: files, folder, environment, and where it sees its disks."""
    streams = asked["streams"]
    for ours, theirs in zip(streams, files, strict=False):
        os.dup2(theirs, ours)
    for closed in {0, 1, 2}.difference(streams):
        os.close(closed)
    if len(files) > len(streams):
        _enter(files[len(streams)])
    os.closerange(3, max(files, default=3) + 64)
    os.chdir(asked["folder"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    time.tzset()
    tempfile.tempdir = None
    if asked.get("session"):
        os.setsid()
    sys.stdin = sys.__stdin__ = _stream(0, "rb")
    sys.stdout = sys.__stdout__ = _stream(1, "wb")
    sys.stderr = sys.__stderr__ = _stream(2, "wb")
    sys.argv = ["logbook", *asked["words"]]


def _enter(namespace: int) -> None:
    if os.fstat(namespace).st_ino != os.stat(_NAMESPACE).st_ino:
        import ctypes

        if ctypes.CDLL(None, use_errno=True).setns(namespace, 0):
            raise OSError(ctypes.get_errno(), "the caller's disks cannot be seen")


def _stream(number: int, mode: str) -> Any:
    """A standard stream as Python makes it at its start; None for one that is closed."""
    try:
        os.fstat(number)
    except OSError:
        return None
    at_once = mode == "wb" and bool(os.environ.get("PYTHONUNBUFFERED"))
    return io.TextIOWrapper(
        open(number, mode, 0 if at_once else -1, closefd=False),
        errors="backslashreplace" if number == 2 else None,
        line_buffering=number == 2 or os.isatty(number),
        write_through=at_once,
    )


def _work(asked: dict[str, Any]) -> Callable[[], object]:
    module, _, name = (asked.get("function") or "logbook.cli.start:main").partition(":")
    function = getattr(importlib.import_module(module), name)
    words = asked["words"] if asked.get("function") else ()
    return lambda: function(*words)


def _ended(work: Callable[[], object]) -> int:
    code: object = 0
    try:
        work()
    except SystemExit as ended:
        code = ended.code
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            stream.flush()
    return code if isinstance(code, int) else 0 if code is None else 1


if __name__ == "__main__":
    serve(sys.argv[1], heavy=bool(sys.argv[2]))
