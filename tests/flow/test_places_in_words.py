"""Places in words, on outlines whose bouts are drawn by rule.

The terms are common practice: with the neck up the bass side is on the left from the front and on the right from the
back where it is strung for a right-handed player, the other way round for a left-handed one. Fret places by 2^(1/12):
equal temperament.
"""

from __future__ import annotations

import math

import pytest

from condition.flow.places_in_words import place_in_words, sides_written
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.shapes import Circle, Line, Point, Ring

LENGTH = 500.0


def waisted() -> Ring:
    """280 wide at the upper bout, 240 at the waist (200 mm from the neck), 380 at the lower bout."""
    widths = [(0, 60), (40, 220), (100, 280), (200, 240), (300, 340), (380, 380), (460, 300), (500, 40)]
    right = [(half / 2, y) for y, half in widths]
    return Ring((*right, *((-x, y) for x, y in reversed(right))))


def drop() -> Ring:
    turns = [2 * math.pi * (k if k <= 45 else k - 90) / 90 for k in range(90)]
    return Ring(tuple((150 * math.sin(t) * math.sin(t / 4 + 0.2), 250 - 250 * math.cos(t)) for t in turns))


@pytest.mark.parametrize(
    ("view", "shape", "words"),
    [
        ("front", Point(-120, 380), "top, bass side of the lower bout"),
        ("back", Point(-120, 380), "back, treble side of the lower bout"),
        ("front", Point(60, 90), "top, treble side of the upper bout"),
        ("front", Circle(-40, 205, 2), "top, bass side of the waist"),
        ("front", Point(2, 300), "top, centre line of the lower bout"),
        ("front", Point(-186, 380), "top, bass side of the lower bout, near the edge"),
        ("front", Line(((-60, 60), (-60, 440))), "top, bass side, from upper bout to lower bout"),
        ("back", Line(((-90, 400), (90, 400))), "back, both sides of the lower bout"),
    ],
)
def test_a_body_with_a_waist(view, shape, words):
    dense = Line(tuple((x0 + (x1 - x0) * k / 40, y0 + (y1 - y0) * k / 40) for k in range(41)
                       for (x0, y0), (x1, y1) in [shape.points])) if isinstance(shape, Line) else shape  # fmt: skip
    assert place_in_words(view, [dense], waisted()) == words


def test_a_drop_has_no_waist():
    found = {place_in_words("front", [Point(20, y)], drop()) for y in range(20, 480, 20)}
    assert not any("waist" in words for words in found)


@pytest.mark.parametrize(
    ("along_mm", "words"),
    [
        (650 * (1 - 2 ** (-3 / 12)), "at the 3rd fret"),
        (650 / 2, "at the 12th fret"),
        ((650 * (1 - 2 ** (-1 / 12)) + 650 * (1 - 2 ** (-2 / 12))) / 2, "between the 1st and 2nd fret"),
        (12.0, "between nut and 1st fret"),
        (650 * (1 - 2 ** (-21 / 12)), "at the 21st fret"),
    ],
)
def test_frets_by_the_string_length(along_mm, words):
    board = Ring(((-20, 0), (20, 0), (28, 480), (-28, 480)))
    guitar = Instrument("i", "test", string_length_mm=650.0)
    assert place_in_words("fingerboard", [Point(-15, along_mm)], board, guitar) == f"fingerboard, bass side, {words}"
    assert place_in_words("fingerboard", [Point(15, along_mm)], board) == "fingerboard, treble side"


def test_heads_and_faces_of_ones_own():
    head = Ring(((-30, 0), (30, 0), (40, 90), (25, 170), (-25, 170), (-40, 90)))
    assert place_in_words("headstock front", [Point(-20, 15)], head) == "head, bass side, near the tip"
    assert place_in_words("headstock back", [Point(-20, 160)], head) == "back of the head, treble side, by the nut"
    assert place_in_words("label inside", [Point(0, 10)], head) == "label inside"


BOARD = Ring(((-20, 0), (20, 0), (28, 480), (-28, 480)))
LEFT_HANDED = Instrument("i", "test", string_length_mm=650.0, handedness="left")


@pytest.mark.parametrize(
    ("view", "shape", "outline", "words"),
    [
        ("front", Point(-120, 380), waisted(), "top, treble side of the lower bout"),
        ("front", Point(60, 90), waisted(), "top, bass side of the upper bout"),
        ("front", Point(2, 300), waisted(), "top, centre line of the lower bout"),
        ("back", Point(-120, 380), waisted(), "back, bass side of the lower bout"),
        ("back", Point(60, 90), waisted(), "back, treble side of the upper bout"),
        ("headstock front", Point(-15, 15), BOARD, "head, treble side, near the tip"),
        ("headstock back", Point(-15, 15), BOARD, "back of the head, bass side, near the tip"),
        ("fingerboard", Point(-15, 325), BOARD, "fingerboard, treble side, at the 12th fret"),
        ("fingerboard", Point(15, 325), BOARD, "fingerboard, bass side, at the 12th fret"),
        ("bass side", Point(0, 490), waisted(), "bass side, lower bout"),
        ("treble side", Point(0, 490), waisted(), "treble side, lower bout"),
    ],
)
def test_strung_for_a_left_handed_player(view, shape, outline, words):
    assert place_in_words(view, [shape], outline, LEFT_HANDED) == words


def test_written_places_that_hold_for_one_way_of_stringing():
    places = ("Bass side, by the bridge", "lower bout", "heel, treble side", "")
    findings = [Finding(str(n), "j", n, "dent", place=place) for n, place in enumerate(places, 1)]
    assert sides_written(findings) == (1, 3)
