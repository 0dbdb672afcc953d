"""A real browser without a window, for looking at pages as a reader's browser shows them.

Chromium and its driver come from the system's packages, axe-core from `npm ci --prefix
tests/browser`. Where one is missing, the tests that need it say so and are skipped.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from accessible import Checker

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-device-scale-factor=1",
)
AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Chromium, started once for all tests."""
    pytest.importorskip("selenium", reason="selenium is not installed")
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if chromium is None or driver is None:
        pytest.skip("chromium and chromedriver are not installed")
    options = Options()
    options.binary_location = chromium
    for flag in _FLAGS:
        options.add_argument(flag)
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('chromium')}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    started = webdriver.Chrome(options=options, service=Service(driver))
    started.set_script_timeout(60)
    yield started
    started.quit()


@pytest.fixture(scope="session")
def axe() -> str:
    """The accessibility checker's source."""
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/browser")
    return AXE.read_text(encoding="utf-8")


@pytest.fixture
def checker(axe: str) -> Checker:
    """The accessibility checker, which has seen nothing yet."""
    return Checker(axe)


@pytest.fixture(scope="session")
def book_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book of the sample session and of a song with a hostile name."""
    from paper import SAMPLE_LOG, book_of, hostile_log

    folder = tmp_path_factory.mktemp("book")
    book_of(hostile_log(SAMPLE_LOG), folder)
    return folder
