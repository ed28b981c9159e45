"""The condition map as a drawing: leaders, legend signs, hatches, scale, and the same map as SVG."""

from __future__ import annotations

import itertools
import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import bench_sheet
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from condition.records.legend import KINDS
from condition.records.shapes import Ring
from condition.report.callouts import capacity, place
from condition.report.drawing import Disc, Path, Text
from condition.report.hatch import hatch
from condition.report.map import LABEL_MM, draw_map, map_svg, most_findings, nice_length
from condition.report.map_plan import plan
from condition.report.symbols import kind_symbol

SITES = st.lists(st.tuples(st.floats(10, 90), st.floats(0, 150)), min_size=1, max_size=40, unique=True)


@settings(max_examples=60, deadline=None)
@given(SITES)
def test_numbers_keep_apart_and_leaders_do_not_cross(sites):
    """Bekos et al. 2007, one-sided boundary labelling: leaders of least total length do not cross."""
    labels = place(sites, 0.0, 100.0, 0.0, 150.0, 6.0)
    assert [label.index for label in labels] == list(range(len(sites)))
    for side in (-1, 1):
        column = sorted((label for label in labels if label.side == side), key=lambda label: label.y)
        for above, below in itertools.pairwise(column):
            assert below.y - above.y >= 6.0 - 1e-6
        assert all(-1e-6 <= label.y <= 150 + 1e-6 for label in column)
        lines = [LineString([(label.x, label.y), sites[label.index]]) for label in column]
        assert not any(a.crosses(b) for a, b in itertools.combinations(lines, 2))


def test_the_margins_say_how_many_numbers_they_hold():
    assert capacity(0, 12, 6) == 6
    assert len(place([(50.0, 5.0)] * 6, 0, 100, 0, 12, 6)) == 6
    with pytest.raises(ValueError, match="7 labels"):
        place([(50.0, 5.0)] * 7, 0, 100, 0, 12, 6)


def test_no_two_kinds_look_the_same_in_black_and_white():
    """CR-31 (NORMAL 1/88 and UNI 11182:2006, from memory): symbols, hatches or dashes differ, not only colours."""
    looks = {}
    for kind in KINDS:
        symbol = tuple(replace(item, stroke=None, fill=None) for item in kind_symbol(kind, 0, 0, 1))
        filled = tuple(getattr(item, "fill", None) is not None for item in kind_symbol(kind, 0, 0, 1))
        look = (symbol, filled)
        assert look not in looks, f"{kind} has the symbol of {looks.get(look)}"
        looks[look] = kind
    areas = [(sign.hatch, sign.dash) for sign in KINDS.values() if sign.hatch]
    assert len(set(areas)) == len(areas)


def test_hatch_lines_lie_inside_at_their_spacing():
    """Worked on paper: a 10 by 10 square holds 9 or 10 lines 1 apart, of length 10 each along an axis."""
    square = Ring(((0, 0), (10, 0), (10, 10), (0, 10)))
    lines = hatch(square, 0, 1.0)
    assert len(lines) in (9, 10, 11)
    assert all(math.dist(a, b) == pytest.approx(10) for a, b in lines)
    hole = Ring(square.points, (((4, 4), (6, 4), (6, 6), (4, 6)),))
    area = Polygon(hole.points, hole.holes)
    for a, b in hatch(hole, 45, 0.7):
        assert area.buffer(1e-6).covers(LineString([a, b]))
    total = sum(math.dist(a, b) for a, b in hatch(hole, 45, 0.05)) * 0.05
    assert total == pytest.approx(96, rel=0.01), "length times spacing is the area"


def test_hatching_a_crossed_ring_does_not_fail():
    assert hatch(Ring(((0, 0), (10, 10), (10, 0), (0, 10))), 30, 0.5)


@pytest.mark.parametrize(("longest", "length"), [(99, 50), (100, 100), (7, 5), (0.3, 0.2), (1999, 1000), (2000, 2000)])
def test_scale_bars_have_round_lengths(longest, length):
    assert nice_length(longest) == pytest.approx(length)


def drawn(sheet=None, index=0, width=150.0, height=200.0):
    one = plan(sheet or bench_sheet.sheet(), most_findings(height))[index]
    return one, draw_map(one, width, height)


def test_the_scale_bar_is_true_to_the_outline():
    one, drawing = drawn()
    outline = next(item for item in drawing.primitives if isinstance(item, Path) and len(item.lines[0]) == 120)
    xs = [x for x, _ in outline.lines[0]]
    mm = [x for x, _ in one.outline_mm.points]
    per_mm = (max(xs) - min(xs)) / (max(mm) - min(mm))
    assert per_mm == pytest.approx(1 / drawing.ratio)
    label = next(item for item in drawing.primitives if isinstance(item, Text) and item.text.endswith(" mm"))
    bar = [item for item in drawing.primitives if isinstance(item, Path) and item.stroke and item.stroke.width == 0.15]
    length = max(x for x, _ in bar[0].lines[0]) - min(x for x, _ in bar[0].lines[0])
    assert length / per_mm == pytest.approx(float(label.text.removesuffix(" mm")))


def test_numbers_stand_outside_the_drawing():
    _, drawing = drawn()
    outline = next(item for item in drawing.primitives if isinstance(item, Path) and len(item.lines[0]) == 120)
    area = Polygon(outline.lines[0])
    discs = [item for item in drawing.primitives if isinstance(item, Disc) and item.radius == LABEL_MM]
    assert len(discs) == 4
    for disc in discs:
        assert (
            area.distance(Polygon([(disc.x + dx, disc.y + dy) for dx, dy in ((-3, -3), (3, -3), (3, 3), (-3, 3))])) > 0
        )


def test_every_mark_is_on_exactly_one_sheet():
    sheets = plan(bench_sheet.sheet(), 60)
    assert sorted(item.finding.number for sheet in sheets for item in sheet.placed) == list(range(1, 11))
    assert sum(len(item.shapes) for sheet in sheets for item in sheet.placed) == sum(
        len(entry.marks) for entry in bench_sheet.sheet().findings
    )


def test_many_findings_are_shared_out_over_sheets():
    sheets = plan(bench_sheet.many(101), 40)
    assert [len(sheet.placed) for sheet in sheets] == [34, 34, 33]
    assert [(sheet.part, sheet.parts) for sheet in sheets] == [(1, 3), (2, 3), (3, 3)]


def test_marks_that_fit_no_face_lie_on_their_photo():
    sheet = bench_sheet.sheet()
    bare = replace(sheet, views=tuple(replace(entry, outline_mm=None) for entry in sheet.views))
    sheets = plan(bare, 60)
    assert [one.photo.file_name for one in sheets] == [photo.file_name for photo in sheet.photos]
    drawing = draw_map(sheets[0], 150, 200)
    left, top, width, height = drawing.photo_box
    assert width / height == pytest.approx(1500 / 2000)
    assert left >= 0
    assert top >= 0


def test_the_map_as_svg_is_well_formed_escaped_and_carries_the_numbers():
    sheet = bench_sheet.sheet()
    entry = replace(sheet.views[0], view=replace(sheet.views[0].view, name='<script>"front" & co'))
    root = ET.fromstring(map_svg(entry, sheet.findings, 640))
    assert root.get("width") == "640"
    assert root.find("{http://www.w3.org/2000/svg}title").text == '<script>"front" & co'
    words = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {word for word in words if word.isdigit()} == {"1", "2", "7", "10"}
    assert not list(root.iter("{http://www.w3.org/2000/svg}script"))


def test_a_face_without_outline_has_no_svg_yet():
    entry = replace(bench_sheet.sheet().views[0], outline_mm=None)
    assert map_svg(entry, bench_sheet.sheet().findings, 640) == ""


def test_svg_and_pdf_share_one_drawing():
    sheet = bench_sheet.sheet()
    root = ET.fromstring(map_svg(sheet.views[0], sheet.findings, 640))
    numbers = np.array(root.get("viewBox").split(), float)
    assert numbers[2] == 150
    assert len(list(root)) > 20
