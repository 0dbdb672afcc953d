"""Make the README's pictures from real output: run a command, set what it prints, photograph it.

Needs Chromium. Run it in a checkout with the program installed:

    python docs/make_screens.py
"""

from __future__ import annotations

import html
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parent.parent
OUT = Path(__file__).parent / "screens"
LOGBOOK = Path(sys.executable).with_name("logbook")

# Name of the picture, the command, and which of its lines are shown.
SCREENS = (
    ("sheet", ["sheet", "Low Tide Ledger", "--part", "guitar"], slice(0, 72)),
    ("check", ["check"], slice(0, None)),
    ("comp", ["comp", "Low Tide Ledger", "guitar"], slice(0, 34)),
    (
        "chord",
        ["chord", "0 2 2 0 3 0", "--capo", "2", "--from", "capo", "--key", "A"],
        slice(0, 40),
    ),
)
PAGES = (("page", ["sheet", "Low Tide Ledger", "--as", "html"], 900, 1200),)

STYLE = """
body { margin: 0; background: #fdfcf8; color: #1c1a17; }
pre { margin: 0; padding: 18px 22px; font: 15px/1.32 "DejaVu Sans Mono", monospace; }
"""


def photograph(page: Path, picture: Path, width: int, height: int) -> None:
    """Take a picture of a page at a size in pixels."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("Chromium is not installed")
    with tempfile.TemporaryDirectory() as profile:
        subprocess.run(
            [
                chromium,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-background-networking",
                "--hide-scrollbars",
                f"--user-data-dir={profile}",
                f"--window-size={width},{height}",
                f"--screenshot={picture}",
                page.as_uri(),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )


def run(words: list[str], environment: dict[str, str]) -> str:
    """Return what a command prints; a check that finds something is no failure here."""
    done = subprocess.run(
        [LOGBOOK, *words], env=environment, capture_output=True, text=True, timeout=120
    )
    if done.returncode > 1:
        raise SystemExit(done.stderr)
    return done.stdout


def open_room(log: Path, drawing: Path) -> None:
    """Draw the open room on a log, after a section was chosen and a take logged in it."""
    import asyncio

    from logbook.room.screen import RoomScreen
    from logbook.room.working import Room
    from logbook.store.lifecycle import open_log

    async def draw(app: RoomScreen) -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("1", "k")
            await pilot.pause()
            # Without the buttons of a window that nobody has.
            plain = re.sub(r"<circle[^>]*/>", "", app.export_screenshot())
            drawing.write_text(plain, encoding="utf-8")

    with open_log(str(log)) as store:
        room = Room(store)
        for line in ("song Low Tide Ledger", "part guitar", "session day three, today"):
            room.write(line)
        asyncio.run(draw(RoomScreen(room)))


def main() -> None:
    """Make every picture anew."""
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        environment = {
            **os.environ,
            "LOGBOOK_DB": str(Path(scratch) / "log.db"),
            "COLUMNS": "80",
            "NO_COLOR": "1",
        }
        run(["load", str(ROOT / "sample_session")], environment)
        run(["import", str(ROOT / "sample_session")], environment)
        page = Path(scratch) / "page.html"
        for name, words, shown in SCREENS:
            lines = run(words, environment).splitlines()[shown]
            typed = " ".join(f"'{word}'" if " " in word or "#" in word else word for word in words)
            text = html.escape("\n".join([f"$ logbook {typed}", *lines]))
            page.write_text(f"<meta charset=utf-8><style>{STYLE}</style><pre>{text}</pre>")
            photograph(page, OUT / f"{name}.png", 780, 40 + 20 * (len(lines) + 1))
        for name, words, width, height in PAGES:
            page.write_text(run(words, environment), encoding="utf-8")
            photograph(page, OUT / f"{name}.png", width, height)
        drawing = Path(scratch) / "room.svg"
        open_room(Path(scratch) / "log.db", drawing)
        photograph(drawing, OUT / "room.png", 1000, 690)


if __name__ == "__main__":
    main()
