"""Without the extra, one sentence that says how to get it; and nothing heavy before it is asked."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.listening import compare_doubles, extra, measure_take, recover_comp


def test_what_to_install_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(extra, "find_spec", lambda name: None if name == "scipy" else object())
    here = Path("a.wav")
    for ask in (
        lambda: recover_comp(here, [here]),
        lambda: compare_doubles(here, here),
        lambda: measure_take(here),
    ):
        with pytest.raises(LogbookError) as caught:
            ask()
        assert "needs scipy" in str(caught.value)
        assert "pip install 'session-logbook[listen]'" in str(caught.value)


def test_importing_the_room_imports_no_numpy() -> None:
    code = "import sys, logbook.listening; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
