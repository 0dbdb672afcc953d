"""Pages that play, in a real browser and from a folder: bars, loops, speeds, takes, the stage."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from math import floor
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from accessible import Checker
from paper import SAMPLE, SAMPLE_LOG, complaints, open_file, wide

from logbook.records import Log
from logbook.records.context import bars_map
from logbook.records.files import AudioFile
from logbook.records.part_view import places
from logbook.sheets.catalog import make_sheet
from logbook.sheets.comps import AskedComp
from logbook.sheets.html import draw_page
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.play_files import make_sounds, page_texts, plan_sounds
from logbook.timing.bars import BarPoint

SOUNDING = """
const one = [...document.querySelectorAll("#deck audio")].find((e) => !e.paused);
return one && [one.currentTime, one.getAttribute("src"), one.playbackRate, one.preservesPitch];
"""
LIT = "return [...document.querySelectorAll('rect.bar.sounding')].map((e) => e.dataset.bars)"
DATA = "return document.getElementById('play-data').textContent"


def with_takes(log: Log) -> Log:
    """The sample's log with each take's file hung on it, as import does."""

    def hung(song: str, part: Any) -> Any:
        stem = f"{song}_{part.name}".lower().replace(" ", "-")
        takes = []
        for take in part.takes:
            found = sorted(SAMPLE.glob(f"{stem}_{take.number}.*"))
            files = tuple(AudioFile(path=each.name, folder=str(SAMPLE)) for each in found)
            takes.append(replace(take, files=files))
        return replace(part, takes=tuple(takes))

    return replace(
        log,
        songs=tuple(
            replace(
                song,
                versions=tuple(
                    replace(version, parts=tuple(hung(song.title, part) for part in version.parts))
                    for version in song.versions
                ),
            )
            for song in log.songs
        ),
    )


@pytest.fixture(scope="session")
def playing_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The guitars of a song with a comp and of one with a tempo change, with their recordings."""
    pytest.importorskip("av", reason="av is not installed")
    folder = tmp_path_factory.mktemp("playing")
    log = with_takes(SAMPLE_LOG)
    for number, name in ((0, "comp"), (2, "varnish")):
        song = log.songs[number]
        version = replace(song.versions[0], parts=song.versions[0].parts[:1])
        only = replace(log, songs=(replace(song, versions=(version,)),))
        planned, failed = make_sounds(plan_sounds(only), folder / "sounds", lambda done: None)
        assert not failed
        text = page_texts(only, planned, "sounds")[song.title]
        place = next(places(only))
        for kind, subject in (
            ("player", only),
            ("lesson", only),
            ("live", only),
            ("comp", AskedComp(place)),
            ("takes", (place,)),
        ):
            if kind == "comp" and not place.part.comps:
                continue
            sheet = make_sheet(kind, subject, Wanted(song.title))
            file = name if kind == "player" else f"{name}-{kind}"
            page = draw_page(sheet, Look(), plays=text.of(kind))
            (folder / f"{file}.html").write_text(page, "utf-8")
    return folder


@pytest.fixture
def page(browser: Any, playing_folder: Path) -> Callable[[str], Any]:
    """Opens a page that plays, wide enough for the engraved chart."""

    def opened(name: str) -> Any:
        open_file(browser, playing_folder / f"{name}.html")
        wide(browser, 1280)
        return browser

    return opened


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The pages of a folder behind an address of this machine."""

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *words: object) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder))) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def until(asked: Callable[[], Any], seconds: float = 5.0) -> Any:
    """Wait for something to be so, and return it."""
    end = time.monotonic() + seconds
    while not (found := asked()):
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.02)
    return found


def click_bar(browser: Any, bar: int) -> None:
    found = [
        each
        for each in browser.find_elements("css selector", "rect.bar")
        if str(bar) in each.get_attribute("data-bars").split()
    ]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", found[0])
    found[0].click()


def press(browser: Any, keys: str) -> None:
    browser.find_element("css selector", "body").send_keys(keys)


def sounding(browser: Any) -> tuple[float, str, float, bool]:
    at, src, rate, pitch = until(lambda: browser.execute_script(SOUNDING))
    return at, src, rate, pitch


def tracks(browser: Any) -> list[dict[str, Any]]:
    data = json.loads(browser.execute_script(DATA))
    found = data["versions"][0]["parts"][0]["tracks"]
    assert isinstance(found, list)
    return found


def seconds_at(song: int, bar: int) -> float:
    """Where a bar begins, in whole microseconds as a browser tells the time."""
    at = bars_map(SAMPLE_LOG.songs[song].versions[0]).seconds_at(BarPoint(bar))
    return floor(at * 1_000_000) / 1_000_000


def test_a_bar_that_is_clicked_plays_from_where_the_tempo_map_has_it(
    page: Callable[[str], Any],
) -> None:
    browser = page("comp")
    click_bar(browser, 9)
    at, src, _, _ = sounding(browser)
    finished = tracks(browser)[0]
    assert (finished["kind"], src) == ("finished", finished["src"])
    begun = seconds_at(0, 9)
    assert begun <= at < begun + 1.5
    assert browser.execute_script(LIT) == ["9"]
    assert complaints(browser) == []


def test_the_lit_bar_goes_on_through_a_change_of_tempo(page: Callable[[str], Any]) -> None:
    browser = page("varnish")
    click_bar(browser, 6)
    seen = {}
    end = time.monotonic() + 5.5
    while time.monotonic() < end:
        at, bar = browser.execute_script(
            "const one = [...document.querySelectorAll('#deck audio')].find((e) => !e.paused);"
            "const lit = document.querySelector('rect.bar.sounding');"
            "return [one ? one.currentTime : -1, lit ? lit.dataset.bars : '']"
        )
        seen.setdefault(bar, at)
        time.sleep(0.03)
    for bar in (7, 8):
        assert abs(seen[str(bar)] - seconds_at(2, bar)) < 0.15


def test_a_take_from_the_middle_of_the_song_plays_the_bar_that_is_lit(
    page: Callable[[str], Any],
) -> None:
    browser = page("comp")
    click_bar(browser, 8)
    sounding(browser)
    four = next(number for number, each in enumerate(tracks(browser)) if each["take"] == "4")
    press(browser, str(four + 1))
    until(lambda: sounding(browser)[1] == tracks(browser)[four]["src"])
    at = sounding(browser)[0]
    lag = tracks(browser)[four]["at"]
    assert abs(lag - seconds_at(0, 7)) < 1e-3
    assert seconds_at(0, 8) <= at + lag < seconds_at(0, 9) + 0.5
    assert "take 4" in browser.find_element("id", "p-said").text
    click_bar(browser, 2)
    until(lambda: "does not hold bar 2" in browser.find_element("id", "p-said").text)


def test_a_loop_returns_within_thirty_milliseconds(page: Callable[[str], Any]) -> None:
    browser = page("comp")
    browser.execute_script(
        """
        const from = document.getElementById("p-from"), to = document.getElementById("p-to");
        from.value = 5; to.value = 5; to.dispatchEvent(new Event("change"));
        """
    )
    click_bar(browser, 5)
    sounding(browser)
    turns = browser.execute_async_script(
        """
        const done = arguments[arguments.length - 1], [start, end] = arguments;
        const els = [...document.querySelectorAll("#deck audio")].slice(0, 2);
        const turns = [];
        let last = els.find((e) => !e.paused), high = 0, begun = performance.now();
        const look = () => {
          const going = els.filter((e) => !e.paused);
          const fresh = going.find((e) => e !== last);
          if (last && !last.paused) { high = last.currentTime; }
          if (fresh && fresh.currentTime > start && fresh.currentTime < start + 0.5) {
            turns.push([high - end, fresh.currentTime - start]);
            last = fresh;
          }
          if (turns.length === 3 || performance.now() - begun > 9000) { done(turns); }
          else { setTimeout(look, 1); }
        };
        look();
        """,
        seconds_at(0, 5),
        seconds_at(0, 6),
    )
    # The end of the old round and the start of the new one, at the moment of turning; a busy
    # machine may be late with one of them.
    assert len(turns) == 3
    over, fresh = min(turns, key=lambda turn: max(abs(turn[0]), turn[1]))
    assert abs(over) < 0.03
    assert 0 <= fresh < 0.03


def test_half_speed_keeps_the_pitch(page: Callable[[str], Any]) -> None:
    browser = page("comp")
    click_bar(browser, 3)
    first = sounding(browser)
    for _ in range(12):
        press(browser, "-")
    at, _, rate, pitch = sounding(browser)
    assert (first[2], rate, pitch) == (1.0, 0.5, True)
    begun = time.monotonic()
    time.sleep(0.6)
    later = sounding(browser)[0]
    assert 0.3 < (later - at) / (time.monotonic() - begun) < 0.7
    assert browser.find_element("id", "p-percent").text == "50 %"


SPECTRUM = """
const done = arguments[arguments.length - 1];
const el = [...document.querySelectorAll("#deck audio")].find((e) => !e.paused);
const context = new AudioContext(), listener = context.createAnalyser();
listener.fftSize = 8192;
listener.smoothingTimeConstant = 0;
context.createMediaStreamSource(el.captureStream()).connect(listener);
context.resume();
const sums = new Float64Array(800), now = new Float32Array(listener.frequencyBinCount);
let looks = 0;
const look = () => {
  listener.getFloatFrequencyData(now);
  if (now[100] > -200) {
    looks += 1;
    sums.forEach((_, at) => { sums[at] += 10 ** (now[at] / 20); });
  }
  if (looks < 10) { setTimeout(look, 80); return; }
  context.close();
  done([...sums, context.sampleRate]);
};
look();
"""


def test_half_speed_sounds_at_the_same_pitch(browser: Any, playing_folder: Path) -> None:
    # What comes out of the element is captured, which a browser allows of a page from an address.
    import numpy as np

    def spectrum(keys: str) -> Any:
        press(browser, keys)
        browser.find_element("id", "p-play").click()
        sounding(browser)
        *found, rate = browser.execute_async_script(SPECTRUM)
        browser.find_element("id", "p-play").click()
        press(browser, Keys.HOME)
        # On a scale of a tenth of a semitone from 80 Hz up, so that a pitch is a place.
        places = 80 * 2 ** (np.arange(480) / 120)
        return np.interp(places, np.arange(len(found)) * rate / 8192, found)

    from selenium.webdriver.common.keys import Keys

    with served(playing_folder) as address:
        browser.get(f"{address}/comp.html")
        wide(browser, 1280)
        whole, half = spectrum(Keys.HOME), spectrum("-" * 10)
        assert browser.find_element("id", "p-percent").text == "50 %"
    moved = range(-160, 161)
    alike = [np.corrcoef(whole[160:320], half[160 + by : 320 + by])[0, 1] for by in moved]
    assert abs(moved[int(np.argmax(alike))]) <= 3  # an octave down would be 120


def test_a_piece_of_the_comp_plays_from_its_first_bar(page: Callable[[str], Any]) -> None:
    browser = page("comp")
    run = browser.find_element("css selector", 'rect.run[data-bars="9-10"]')
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", run)
    run.click()
    at = sounding(browser)[0]
    assert seconds_at(0, 9) <= at < seconds_at(0, 11)
    until(lambda: "sounding" in run.get_attribute("class"))


STARTS = """
const begun = [], old = AudioBufferSourceNode.prototype.start;
window.plucked = begun;
AudioBufferSourceNode.prototype.start = function (when) {
  const sound = Array.from(this.buffer.getChannelData(0).slice(0, 24000));
  begun.push([when, sound, this.buffer.sampleRate]);
  return old.call(this, when);
};
"""
PLUCKED = "return window.plucked.map((e) => e[0])"


def show(browser: Any, wanted: str) -> Any:
    found = browser.find_element("css selector", wanted)
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
    return found


def test_the_part_as_logged_is_plucked_at_any_tempo(page: Callable[[str], Any]) -> None:
    # Varnish changes its tempo at bar 7; at double speed every stroke comes after half the time.
    browser = page("varnish-live")
    browser.execute_script(STARTS)
    data = json.loads(browser.execute_script(DATA))
    (part,) = data["versions"][0]["parts"]
    (number,) = [at for at, each in enumerate(part["tracks"]) if each["kind"] == "logged"]
    track = part["tracks"][number]
    bars = {bar: start for bar, start, *_ in data["versions"][0]["bars"]}
    press(browser, str(number + 1))
    browser.execute_script(
        "const s = document.getElementById('p-speed'); s.value = 200;"
        "s.dispatchEvent(new Event('input'))"
    )
    assert browser.find_element("id", "p-percent").text == "200 %"
    show(browser, '.road [data-from^="7"]').click()
    until(lambda: len(set(browser.execute_script(PLUCKED))) > 12)
    begun = browser.execute_script(PLUCKED)
    wanted = [
        start + order * 0.012 * 2
        for start, _, stroke in track["notes"]
        if start >= bars[7] - 1e-3
        for order, course in enumerate(part["strokes"][stroke][1:])
        for _ in course
    ]
    for at, start in zip(begun, wanted, strict=False):
        assert abs((at - begun[0]) * 2 - (start - wanted[0])) < 2e-3
    browser.find_element("id", "p-play").click()


def test_a_chord_alone_sounds_its_notes(page: Callable[[str], Any]) -> None:
    import numpy as np

    browser = page("comp")
    browser.execute_script(STARTS)
    show(browser, 'button[data-hear="A"]').click()
    until(lambda: len(browser.execute_script(PLUCKED)) == 6)
    found = browser.execute_script("return window.plucked")
    wanted = [110.0, 138.59, 164.81, 220.0, 277.18, 440.0]  # A: 320003 over a capo on 2
    for (_, sound, rate), hz in zip(found, wanted, strict=True):
        spectrum = np.abs(np.fft.rfft(np.array(sound) * np.hanning(len(sound)), 1 << 18))
        low, high = (int(2 * hz * part * (1 << 18) / rate) for part in (0.97, 1.03))
        second = (low + int(np.argmax(spectrum[low:high]))) * rate / (1 << 18)
        assert abs(1200 * np.log2(second / (2 * hz))) < 20


def test_comps_takes_and_live_sheets_play(page: Callable[[str], Any]) -> None:
    browser = page("comp-comp")
    show(browser, 'rect.run[data-bars="9-10"]').click()
    assert seconds_at(0, 9) <= sounding(browser)[0] < seconds_at(0, 11)
    assert complaints(browser) == []
    browser = page("comp-takes")
    four = next(each for each in tracks(browser) if each["take"] == "4")
    show(browser, 'button[data-takes="4"]').click()
    until(lambda: sounding(browser)[1] == four["src"])
    assert browser.find_element("id", "p-said").text.startswith("take 4")
    assert complaints(browser) == []
    browser = page("comp-live")
    assert [each["kind"] for each in tracks(browser)] == ["logged"]
    show(browser, ".road [data-loops]").click()
    until(lambda: browser.find_element("id", "p-said").text.startswith("Loop: bars 1–"))
    until(lambda: browser.find_elements("css selector", "rect.bar.sounding"))
    press(browser, "s")
    chords = "return [...document.querySelectorAll('#s-pages li span')].map((e) => e.textContent)"
    assert len(browser.execute_script(chords)) > 8
    press(browser, "s")
    browser.find_element("id", "p-play").click()
    assert complaints(browser) == []


def test_sections_and_the_takes_above_a_comp_are_clicked(page: Callable[[str], Any]) -> None:
    browser = page("comp")
    from selenium.webdriver import ActionChains

    def click(wanted: str) -> None:
        found = browser.find_element("css selector", wanted)
        browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
        mouse = ActionChains(browser)  # for letters may lie over it
        mouse.move_to_element_with_offset(found, 8, 0).click().perform()

    click('rect.section[data-passes="7-10"]')
    assert seconds_at(0, 7) <= sounding(browser)[0] < seconds_at(0, 9)
    four = next(each for each in tracks(browser) if each["take"] == "4")
    click('[data-take="4"][data-from]')  # it holds bars 7 to 10; just after its middle
    until(lambda: sounding(browser)[1] == four["src"])
    assert seconds_at(0, 9) <= sounding(browser)[0] + four["at"] < seconds_at(0, 10) + 0.5


def test_a_lessons_loops_go_round(page: Callable[[str], Any]) -> None:
    browser = page("comp-lesson")
    loop = browser.find_element("css selector", "[data-loop='4-5'] button")
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", loop)
    loop.click()
    assert seconds_at(0, 4) <= sounding(browser)[0] < seconds_at(0, 6)
    assert browser.find_element("id", "p-said").text == "Loop: bars 4–5"
    assert complaints(browser) == []


def test_stage_turns_pages_and_moves_keys_and_capos(page: Callable[[str], Any]) -> None:
    browser = page("comp")
    wide(browser, 900, 420)
    press(browser, "s")
    chords = "return [...document.querySelectorAll('#s-pages li span')].map((e) => e.textContent)"
    assert browser.execute_script(chords)[:2] == ["A", "Dadd9"]
    press(browser, "h")
    assert browser.execute_script(chords)[:2] == ["G", "Cadd9"]
    press(browser, "}")
    assert browser.execute_script(chords)[:2] == ["F♯", "Badd9"]
    press(browser, "h<")
    assert browser.execute_script(chords)[:2] == ["A♭", "D♭add9"]
    from selenium.webdriver.common.keys import Keys

    top = "return document.getElementById('s-pages').scrollTop"
    assert browser.execute_script(top) == 0
    press(browser, Keys.PAGE_DOWN)
    turned = browser.execute_script(top)
    assert turned > 100
    press(browser, Keys.ARROW_LEFT)
    assert browser.execute_script(top) == 0
    sizes = "return parseFloat(getComputedStyle(document.querySelector('#s-pages li')).fontSize)"
    assert browser.execute_script(sizes) >= 20 * 96 / 72
    press(browser, Keys.ESCAPE)
    assert not browser.find_element("id", "stage").is_displayed()
    assert complaints(browser) == []


def test_a_page_that_plays_is_accessible_and_strict(
    page: Callable[[str], Any], checker: Checker
) -> None:
    for name, width in (("comp", 360), ("comp-live", 360), ("comp-takes", 320), ("comp", 1280)):
        browser = page(name)
        browser.execute_script("document.getElementById('p-more').open = true")
        wide(browser, width)
        found = checker.page(browser) + checker.colours(browser)
        assert [each for each in found if each["impact"] in ("serious", "critical")] == []
        across = browser.execute_script("return document.documentElement.scrollWidth")
        assert across <= width
    policy = browser.execute_script(
        "return document.querySelector('meta[http-equiv]').getAttribute('content')"
    )
    assert "unsafe" not in policy
    assert policy.startswith("default-src 'none'")
    assert browser.execute_script("return document.querySelectorAll('[style]').length") == 0
