"""Pages for the browser tests, and what is asked of a page once it is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from logbook.notebook.read import read_log
from logbook.records import (
    ChartEntry,
    FormSection,
    Log,
    Part,
    Person,
    Song,
    Tuning,
    Version,
    Voicing,
)
from logbook.sheets.book import plan_book
from logbook.sheets.book_files import write_book
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted

SAMPLE = Path(__file__).parents[2] / "sample_session"
SAMPLE_LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
KINDS = ("player", "lesson", "live", "credits")
WIDTHS = (360, 768, 1280)
HOSTILE = "<script>document.title='broken'</script> \"quoted\" & 'so' {{ 7 * 7 }} ../../x"


def hostile_log(log: Log) -> Log:
    """A log with one more song and person, whose names are markup."""
    (part,) = [each for each in log.songs[0].versions[0].parts if each.name == "guitar"]
    bad = replace(part, name=HOSTILE, player=HOSTILE, notes=HOSTILE * 4)
    version = replace(log.songs[0].versions[0], parts=(bad,), arrangements=())
    song = replace(log.songs[0], title=HOSTILE, versions=(version,), notes=HOSTILE)
    return replace(
        log, songs=(*log.songs, song), people=(*log.people, Person(name=HOSTILE, notes=HOSTILE))
    )


def book_of(log: Log, folder: Path, look: Look | None = None) -> Any:
    """Write the book of a log and return what was done."""
    return write_book(plan_book(log), folder, look or Look(), lambda total: lambda done: None)


def sheet_file(folder: Path, log: Log, title: str, kind: str = "player", **look: Any) -> Path:
    """Draw a sheet as a page in a file."""
    page = draw_sheet(make_sheet(kind, log, Wanted(title)), "html", Look(**look))
    assert isinstance(page, str)
    path = folder / f"{kind}.html"
    path.write_text(page, encoding="utf-8")
    return path


def one_voicing(
    frets: str, *, tuning: str = "standard", capo: str = "", counted: str = "nut", **more: str
) -> Log:
    """A log whose one song has a part with this voicing alone."""
    return several_voicings(
        (Voicing(label="V", frets=frets, **more),), tuning=tuning, capo=capo, counted=counted
    )


def several_voicings(voicings: Sequence[Voicing], **rig: Any) -> Log:
    """A log whose one song has a part with these voicings, a bar each."""
    chart = tuple(
        ChartEntry(bar=number, voicing=each.label) for number, each in enumerate(voicings, start=1)
    )
    part = Part(name="part", voicings=tuple(voicings), chart=chart, **rig)
    form = (FormSection(name="verse", start=1, bars=len(chart)),)
    song = Song(title="Cartwheel", versions=(Version(name="demo", form=form, parts=(part,)),))
    return Log(songs=(song,), tunings=(Tuning(name="open", strings="D2 A2 D3 F#3 A3 D4"),))


def wide(browser: Any, width: int, height: int = 900, *, dark: bool = False) -> None:
    """Give the page this many pixels, by day or by night."""
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
    )
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})


def open_file(browser: Any, path: Path) -> None:
    """Open a page from a file, with what it says on the console kept apart."""
    browser.get_log("browser")
    browser.get(path.as_uri())


def complaints(browser: Any) -> list[str]:
    """What the page put on the console that is more than a remark."""
    return [
        entry["message"]
        for entry in browser.get_log("browser")
        if entry["level"] in ("SEVERE", "WARNING")
    ]
