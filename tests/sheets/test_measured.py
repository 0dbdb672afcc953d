"""What was measured, in words."""

from __future__ import annotations

from logbook.records import Measurement
from logbook.sheets.measured import measurement_text, reading_said, remarks


def test_tuning_says_how_sure_it_is() -> None:
    flat = Measurement(tuning_cents=-13.2, tuning_error_cents=0.4)
    assert remarks(flat, 440.0) == (
        "13 cents flat throughout, A4 = 436.7 Hz: sure (give or take 0.4 cents)",
    )
    assert measurement_text(flat) == "tuning -13 cents (give or take 0.4)"
    assert remarks(Measurement(tuning_cents=1.0, tuning_error_cents=0.5), 440.0) == ()
    (voice,) = remarks(Measurement(tuning_cents=-5.0, tuning_error_cents=4.0), 440.0)
    assert voice == "tuning -5 cents: doubtful (give or take 4.0 cents)"
    slide = Measurement(
        tuning_cents=0.2, tuning_error_cents=0.4, tuning_from_cents=-10.1, tuning_to_cents=9.8
    )
    assert remarks(slide, 440.0) == ("the tuning slides from -10 to +10 cents",)
    string = Measurement(tuning_cents=0.0, tuning_apart_cents=12.1, tuning_apart="string 3 (G3)")
    assert remarks(string, 440.0) == ("string 3 (G3) 12 cents sharp of the others",)
    notes = Measurement(tuning_cents=0.0, tuning_apart_cents=-9.0, tuning_apart="G3 A3 B3")
    assert remarks(notes, 440.0) == ("G3, A3 and B3 9 cents flat of the others",)


def test_bars_and_the_click() -> None:
    found = Measurement(
        tempo_bars="1-6 110.00, 7 113.30, 8-16 110.00", click_late_ms=14.2, click_error_ms=2.2
    )
    assert remarks(found, 440.0) == (
        "bar 7 rushed: 113.3 where 110.0 is played around",
        "tempo in bars 1-6: 110.0, 7: 113.3, 8-16: 110.0",
        "14 ms behind the click: sure (give or take 2 ms)",
    )
    planned = Measurement(tempo_bars="1-6 120.00, 7-8 104.00")
    assert remarks(planned, 440.0, lambda bar: 120.0 if bar < 7 else 104.0) == ()
    taken = Measurement(click_late_ms=1.0, click_error_ms=2.0, click_by="file start")
    assert remarks(taken, 440.0) == (
        "on the click: sure (give or take 2 ms) if the file begins on the bar",
    )
    free = Measurement(tempo_bars=", ".join(f"{bar} {90 + bar}.00" for bar in range(1, 9)))
    assert remarks(free, 440.0) == ("the tempo moves between 91.0 and 98.0 (--bar-by-bar)",)


def test_half_and_double_without_a_map() -> None:
    assert reading_said("open", 120.0) == " (or 60.0 in half time)"
    assert reading_said("half", 120.0) == " (heard as half of it)"
    assert reading_said("beat", 120.0) == ""
