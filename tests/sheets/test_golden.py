"""The sample session's sheets, word for word as people last read them."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

GOLDEN_FOLDER = Path(__file__).parent.parent / "golden"


def _redraw() -> ModuleType:
    spec = importlib.util.spec_from_file_location("golden_redraw", GOLDEN_FOLDER / "redraw.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["golden_redraw"] = module
    spec.loader.exec_module(module)
    return module


REDRAW = _redraw()


@pytest.mark.parametrize("golden", REDRAW.GOLDEN, ids=lambda golden: str(golden.file))
def test_the_sheet_is_as_it_was_read(golden: Any) -> None:
    kept = (GOLDEN_FOLDER / golden.file).read_text(encoding="utf-8")
    assert REDRAW.redrawn(golden) == kept, (
        "the sheet has changed; run python tests/golden/redraw.py and read the difference"
    )


def test_every_kept_sheet_is_drawn() -> None:
    assert {path.name for path in GOLDEN_FOLDER.glob("*.txt")} == {
        golden.file for golden in REDRAW.GOLDEN
    }
