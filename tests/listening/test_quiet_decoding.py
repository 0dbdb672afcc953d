"""The error output is closed to C while a decoder works, and open again afterwards."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from logbook.listening.quiet_decoding import hushed


def test_what_c_writes_meanwhile_is_not_seen(capfd: pytest.CaptureFixture[str]) -> None:
    os.write(2, b"before ")
    with hushed():
        os.write(2, b"meanwhile ")
        with hushed():
            os.write(2, b"deeper ")
        os.write(2, b"still ")
    os.write(2, b"after")
    assert capfd.readouterr().err == "before after"


def test_many_threads_leave_it_open(capfd: pytest.CaptureFixture[str]) -> None:
    def work(_number: int) -> None:
        for _ in range(50):
            with hushed():
                os.write(2, b"x")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(work, range(16)))
    os.write(2, b"open")
    assert capfd.readouterr().err == "open"


def test_it_is_open_again_after_a_mistake(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ValueError, match="wrong"), hushed():
        raise ValueError("wrong")
    os.write(2, b"open")
    assert capfd.readouterr().err == "open"
