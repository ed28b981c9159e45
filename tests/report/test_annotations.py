"""Marks in and out, held to the W3C Web Annotation Data Model (Recommendation 23 February 2017) and to Media
Fragments URI 1.0 (Recommendation 25 September 2012); section numbers in the tests are theirs."""

from __future__ import annotations

import json
import math
import re
from urllib.parse import unquote

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from condition.errors import Refused
from condition.records.legend import KINDS
from condition.records.shapes import Circle, Line, Point, Ring
from condition.report.annotations import (
    Picture,
    TravellingMark,
    read_marks,
    read_page,
    unique_names,
    write_page,
)
from condition.words import say_error

PHOTO = Picture("front.jpg", 4000, 3000)
URN = "urn:uuid:00000000-0000-4000-8000-00000000000{}"

EXAMPLE = {
    "@context": "http://www.w3.org/ns/anno.jsonld",
    "id": URN.format(1),
    "type": "Annotation",
    "motivation": "describing",
    "created": "2026-01-02T10:15:00Z",
    "creator": {"id": "urn:example:examiner-1", "type": "Person", "name": "Examiner One"},
    "body": [
        {"type": "TextualBody", "purpose": "classifying", "value": "crack"},
        {"type": "TextualBody", "purpose": "describing", "value": "Length 42.0 mm, U = 0.9 mm (k = 2)"},
    ],
    "target": {
        "type": "SpecificResource",
        "source": {"id": "urn:example:photo-0001", "type": "Image", "format": "image/jpeg"},
        "selector": [
            {
                "type": "FragmentSelector",
                "conformsTo": "http://www.w3.org/TR/media-frags/",
                "value": "xywh=pixel:100,200,301,51",
            },
            {
                "type": "SvgSelector",
                "value": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4000 3000">'
                '<polygon points="100,200 400,205 401,251 101,240"/></svg>',
            },
        ],
    },
}


def annotation(svg: str | None = None, *, fragment: str | None = None, source: str = "front.jpg", **other) -> str:
    selector = (
        {"type": "SvgSelector", "value": svg}
        if svg is not None
        else {"type": "FragmentSelector", "conformsTo": "http://www.w3.org/TR/media-frags/", "value": fragment}
    )
    values = {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": URN.format(1),
        "type": "Annotation",
        "body": {"type": "TextualBody", "purpose": "tagging", "value": "crack"},
        "target": {"source": source, "selector": selector},
    }
    return json.dumps(values | other)


def svg(body: str, box: str = 'viewBox="0 0 4000 3000"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{body}</svg>'


def shape_of(body: str, box: str = 'viewBox="0 0 4000 3000"'):
    return read_page(annotation(svg(body, box)), [PHOTO])[0].shape_px


def refusal(text: str | bytes, pictures=(PHOTO,)) -> str:
    with pytest.raises(Refused) as caught:
        read_page(text, pictures)
    sentence = say_error(caught.value)
    assert not sentence.startswith("annotations."), "the refusal has no words"
    assert "\n" not in sentence
    return caught.value.code.removeprefix("annotations.")


def mark(shape, **other) -> TravellingMark:
    values = {"id": URN.format(1), "source": PHOTO.name, "kind": "crack", "own_kind": "", "words": ""}
    return TravellingMark(**(values | other), shape_px=shape)


# --- what is written ------------------------------------------------------------------------------------------

DATE_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")
MOTIVATIONS = {"assessing", "bookmarking", "classifying", "commenting", "describing", "editing", "highlighting"} | {
    "identifying",
    "linking",
    "moderating",
    "questioning",
    "replying",
    "tagging",
}


def assert_is_web_annotation(values: dict) -> None:
    """The musts of 3.1 to 3.3 and 4.2.7 (AN-2 to AN-10), one by one."""
    assert isinstance(values["id"], str)
    assert re.match(r"[a-z][a-z0-9+.-]*:", values["id"])
    assert "Annotation" in ([values["type"]] if isinstance(values["type"], str) else values["type"])
    assert values["target"]
    assert values["motivation"] in MOTIVATIONS
    assert "purpose" not in values
    if "created" in values:
        assert DATE_TIME.fullmatch(values["created"])
    for body in values["body"]:
        assert body["type"] == "TextualBody"
        assert isinstance(body["value"], str)
        assert body["purpose"] in MOTIVATIONS
        assert "motivation" not in body
    selector = values["target"]["selector"]
    assert selector["type"] == "SvgSelector"
    assert selector["value"].startswith('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ')
    assert re.fullmatch(r"[A-Za-z0-9._~%-]+", values["target"]["source"]), "an IRI needs its spaces encoded"


def test_a_written_page_keeps_the_musts_of_the_data_model():
    shapes = [
        Point(1.5, 2.5),
        Circle(100, 100, 8.25),
        Line(((0.5, 0.5), (10, 20), (30, 20.125))),
        Ring(((0, 0), (900, 0), (900, 900)), (((300, 100), (400, 100), (400, 200)),)),
    ]
    marks = [mark(s, id=URN.format(k), words="seen in raking light") for k, s in enumerate(shapes)]
    page = json.loads(write_page(marks, [PHOTO], created="2026-01-02T10:15:00Z", creator="Examiner One"))
    assert page["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert page["type"] == "AnnotationPage"
    assert page["id"].startswith("urn:uuid:")
    for item in page["items"]:
        assert_is_web_annotation(item)
    elements = [re.findall(r"<(\w+) ", item["target"]["selector"]["value"])[1] for item in page["items"]]
    assert elements == ["circle", "circle", "polyline", "path"]
    assert 'r="0"' in page["items"][0]["target"]["selector"]["value"]


def test_the_same_marks_give_the_same_page():
    marks = [mark(Point(3, 4))]
    assert write_page(marks, [PHOTO]) == write_page(marks, [PHOTO])


def test_a_bare_uuid_becomes_a_urn():
    page = json.loads(write_page([mark(Point(3, 4), id="00000000-0000-4000-8000-00000000000a")], [PHOTO]))
    assert page["items"][0]["id"] == "urn:uuid:00000000-0000-4000-8000-00000000000a"


NUMBERS = st.floats(1, 2999, allow_nan=False).map(lambda x: round(x, 4))
PAIRS = st.tuples(NUMBERS, NUMBERS)
SHAPES = st.one_of(
    st.builds(Point, NUMBERS, NUMBERS),
    st.builds(Circle, NUMBERS, NUMBERS, NUMBERS),
    st.builds(lambda points: Line(tuple(points)), st.lists(PAIRS, min_size=2, max_size=30, unique=True)),
    st.builds(lambda points: Ring(tuple(points)), st.lists(PAIRS, min_size=3, max_size=30, unique=True)),
)


@settings(max_examples=150, deadline=None)
@given(
    shape=SHAPES,
    kind=st.sampled_from(sorted(KINDS)),
    words=st.text(alphabet=st.characters(exclude_categories=("C", "Z")), max_size=60),
    name=st.text(alphabet=st.characters(exclude_categories=("Cs",), exclude_characters="\0"), min_size=1, max_size=40),
)
def test_what_is_written_is_read_back(shape, kind, words, name):
    import unicodedata

    name = unicodedata.normalize("NFC", name)
    picture = Picture(name, 4000, 3000)
    written = mark(shape, kind=kind, words=words, source=name)
    text = write_page([written], [picture])
    assert read_page(text, [picture]) == (written,)
    assert read_page(text)[0].source == name
    assert unquote(json.loads(text)["items"][0]["target"]["source"]) == name


def test_a_ring_keeps_its_holes():
    ring = Ring(
        ((0, 0), (900, 0), (900, 900), (0, 900)), (((10, 10), (20, 10), (20, 20)), ((50, 50), (60, 50), (60, 80)))
    )
    assert read_page(write_page([mark(ring)], [PHOTO]), [PHOTO])[0].shape_px == ring


def test_an_unknown_kind_becomes_other_and_keeps_its_word():
    read = read_page(
        annotation(
            svg('<circle cx="5" cy="6" r="0"/>'),
            body={"type": "TextualBody", "purpose": "tagging", "value": "Bee  nest"},
        )
    )[0]
    assert (read.kind, read.own_kind) == ("other", "Bee  nest")
    again = read_page(write_page([mark(read.shape_px, kind=read.kind, own_kind=read.own_kind)], [PHOTO]))[0]
    assert (again.kind, again.own_kind) == ("other", "Bee  nest")


# --- what is read ---------------------------------------------------------------------------------------------


def test_one_annotation_with_two_selectors_is_read_by_its_svg():
    """4.2: several selectors pick the same region, a reader takes one."""
    read = read_page(json.dumps(EXAMPLE))
    assert read == (
        TravellingMark(
            URN.format(1),
            "urn:example:photo-0001",
            "crack",
            "",
            "Length 42.0 mm, U = 0.9 mm (k = 2)",
            Ring(((100, 200), (400, 205), (401, 251), (101, 240))),
        ),
    )


def test_the_plain_image_part_of_example_4_is_a_ring():
    """AN-7: a target IRI with ``#xywh=`` needs no selector."""
    target = {"id": "http://example.org/image1.png#xywh=100,100,300,300", "type": "Image", "format": "image/png"}
    read = read_page(annotation("", target=target), [Picture("image1.png", 4000, 3000)])[0]
    assert read.shape_px == Ring(((100, 100), (400, 100), (400, 400), (100, 400)))
    assert read.source == "image1.png"


@pytest.mark.parametrize(
    ("row", "fragment", "size", "box"),
    [
        ("AN-20", "xywh=160,120,320,240", (640, 480), (160, 120, 320, 240)),
        ("AN-21", "xywh=pixel:160,120,320,240", (640, 480), (160, 120, 320, 240)),
        ("AN-22", "xywh=percent:25,25,50,50", (640, 480), (160, 120, 320, 240)),
        ("AN-24", "xywh=percent:33,33,33,33", (100, 101), (33, 33, 33, 34)),
        ("AN-26", "xywh=600,400,320,240", (640, 480), (600, 400, 40, 80)),
        ("AN-27", "xywh=010,020,030,040", (640, 480), (10, 20, 30, 40)),
        ("4.2.2", "t=3&xywh=1,2,3,4", (640, 480), (1, 2, 3, 4)),
    ],
)
def test_a_media_fragment_is_a_ring(row, fragment, size, box):
    x, y, w, h = box
    read = read_page(annotation(fragment=fragment), [Picture("front.jpg", *size)])[0]
    assert read.shape_px == Ring(((x, y), (x + w, y), (x + w, y + h), (x, y + h))), row


@pytest.mark.parametrize(
    ("fragment", "code"),
    [
        ("xywh=10.5,20,30,40", "no_selector"),
        ("xywh=-1,20,30,40", "no_selector"),
        ("xywh=10,20,30", "no_selector"),
        ("xywh=10,20,0,40", "no_selector"),
        ("xywh=640,0,10,10", "outside"),
        ("xywh=0,480,10,10", "outside"),
    ],
)
def test_a_fragment_outside_grammar_or_picture_is_told(fragment, code):
    """AN-23, AN-25."""
    assert refusal(annotation(fragment=fragment), [Picture("front.jpg", 640, 480)]) == code


def test_a_smaller_view_box_is_scaled_to_the_photo():
    """AN-11: the svg canvas is stretched over the full image."""
    assert shape_of('<circle cx="10" cy="20" r="3"/>', 'viewBox="0 0 400 300"') == Circle(100, 200, 30)
    assert shape_of('<circle cx="10" cy="20" r="3"/>', 'width="400" height="300"') == Circle(100, 200, 30)
    assert shape_of('<polyline points="10 20 30 40"/>', 'viewBox="5 10 200 150"') == Line(((100, 200), (500, 600)))
    assert shape_of('<polyline points="10 20 30 40"/>', "") == Line(((10, 20), (30, 40)))


def test_a_circle_on_a_stretched_canvas_becomes_an_ellipse_of_its_area():
    ring = shape_of('<circle cx="50" cy="50" r="10"/>', 'viewBox="0 0 100 100"')
    assert isinstance(ring, Ring)
    xs, ys = zip(*ring.points, strict=True)
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring.points, ring.points[1:] + ring.points[:1], strict=True))
    assert (min(xs), max(xs)) == pytest.approx((1600, 2400), abs=0.1)
    assert (min(ys), max(ys)) == pytest.approx((1200, 1800), abs=0.1)
    assert abs(area) / 2 == pytest.approx(math.pi * 400 * 300, rel=2e-4)


def test_marks_drawn_on_the_turned_photo_are_refused():
    assert refusal(annotation(svg('<circle cx="5" cy="5" r="2"/>', 'viewBox="0 0 3000 4000"'))) == "not_upright"


@pytest.mark.parametrize(
    ("data", "points"),
    [
        ("M 100 100 L 300 100 L 200 300 z", [(100, 100), (300, 100), (200, 300)]),
        ("M100,100 200,0h10v-5H7V8", [(100, 100), (200, 0), (210, 0), (210, -5), (7, -5), (7, 8)]),
        ("m 1.5.5-1-1+2+3e1", [(1.5, 0.5), (0.5, -0.5), (2.5, 29.5)]),
    ],
)
def test_path_data_follows_the_grammar(data, points):
    """SVG 1.1, 8.3: the first is the triangle of 8.1; relative moves, omitted separators and repeated commands."""
    shape = shape_of(f'<path d="{data}"/>')
    assert np.asarray(shape.points) == pytest.approx(np.asarray(points))
    assert isinstance(shape, Ring) == data.endswith("z")


def test_a_full_arc_circle_has_the_area_of_its_circle():
    ring = shape_of('<path d="M 900 1000 A 100 100 0 1 1 1100 1000 A 100 100 0 1 1 900 1000 Z"/>')
    assert all(math.hypot(x - 1000, y - 1000) == pytest.approx(100, abs=1e-6) for x, y in ring.points)
    sag = 100 - 100 * math.cos(math.pi / len(ring.points))
    assert sag <= 0.0201


def test_arcs_are_those_of_the_pie_chart_in_the_standard():
    """SVG 1.1, 8.3.8, arcs01: ``M300,200 h-150 a150,150 0 1,0 150,-150 z`` is three quarters of a disc."""
    ring = shape_of('<path d="M300,200 h-150 a150,150 0 1,0 150,-150 z"/>')
    loop = ring.points
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, loop[1:] + loop[:1], strict=True))) / 2
    assert area == pytest.approx(0.75 * math.pi * 150**2, rel=2e-4)


def test_a_flattened_curve_stays_within_its_tolerance_of_the_true_one():
    line = shape_of('<path d="M100,200 C100,100 250,100 250,200 S400,300 400,200"/>')

    t = np.linspace(0, 1, 200_001)[:, None]
    ends = np.array([(100, 200), (100, 100), (250, 100), (250, 200)], float)
    truth = (1 - t) ** 3 * ends[0] + 3 * (1 - t) ** 2 * t * ends[1] + 3 * (1 - t) * t**2 * ends[2] + t**3 * ends[3]
    first = np.array([p for p in line.points if p[0] <= 250])
    middles = (first[1:] + first[:-1]) / 2
    assert len(middles) > 10
    assert max(np.hypot(*(truth - middle).T).min() for middle in middles) < 0.0205
    assert line.points[-1] == (400, 200)


def test_a_quadratic_is_the_cubic_of_the_standard():
    """SVG 1.1, 8.3.7: ``M200,300 Q400,50 600,300 T1000,300`` passes (400, 175) and its mirror (800, 425)."""
    line = shape_of('<path d="M200,300 Q400,50 600,300 T1000,300"/>')
    assert min(math.dist(p, (400, 175)) for p in line.points) < 15
    assert min(y for _, y in line.points) == pytest.approx(175, abs=0.5)
    assert max(y for _, y in line.points) == pytest.approx(425, abs=0.5)


def test_a_hole_may_come_before_its_ring():
    ring = shape_of('<path d="M10 10h10v10h-10z M0 0h900v900h-900z"/>')
    assert ring.points[2] == (900, 900)
    assert ring.holes == (((10, 10), (20, 10), (20, 20), (10, 20)),)


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ('<path d="M0 0h9v9z M100 100h9v9z"/>', "separate_areas"),
        ('<path d="M0 0h900v900h-900z M10 10h500v500h-500z M100 100h50v50z"/>', "separate_areas"),
        ('<path d="M0 0h9v9 M100 100h9v9"/>', "bad_shape"),
        ('<path d="L 5 5"/>', "bad_shape"),
        ('<path d="M 5 5 L 1e999 2"/>', "bad_shape"),
        ('<path d="M 0 0 5"/>', "bad_shape"),
        ('<path d="M 0 0 z 5 5"/>', "bad_shape"),
        ('<path d=""/>', "bad_shape"),
        ('<polygon points="1,2 3"/>', "bad_shape"),
        ('<polygon points="1,2 3,4"/>', "bad_shape"),
        ('<polyline points="1,2 1,2"/>', "bad_shape"),
        ('<polygon points="1,2 nan,4 5,6"/>', "bad_shape"),
        ('<circle cx="1" cy="2" r="-3"/>', "bad_shape"),
        ('<circle cx="50%" cy="2" r="3"/>', "bad_shape"),
        ('<circle cx="9000" cy="2" r="3"/>', "outside"),
        ('<circle r="1"/><circle r="2"/>', "one_shape"),
        ("<text>12</text>", "one_shape"),
        ('<defs><circle cx="1" cy="1" r="1"/></defs>', "one_shape"),
        ('<g transform="scale(2)"><circle cx="1" cy="1" r="1"/></g>', "transform"),
        ("<polygon", "svg_broken"),
        ('<x:circle cx="1" cy="1" r="1"/>', "svg_broken"),
    ],
)
def test_a_shape_that_cannot_be_meant_is_told(body, code):
    assert refusal(annotation(svg(body))) == code


@pytest.mark.parametrize("box", ['viewBox="0 0 0 10"', 'viewBox="0 0 10"', 'viewBox="a b c d"', 'viewBox="0 0 -4 -3"'])
def test_a_senseless_view_box_is_told(box):
    assert refusal(annotation(svg('<circle cx="1" cy="1" r="1"/>', box))) == "view_box"


def test_style_script_animation_and_text_are_ignored():
    """AN-12."""
    body = (
        "<title>t</title><style>circle{r:900}</style><script>alert(1)</script><!-- <! -->"
        '<g><circle cx="5" cy="6" r="7" onclick="x()" style="fill:url(http://a.example)"><animate to="9"/></circle></g>'
    )
    assert shape_of(body) == Circle(5, 6, 7)


LAUGHS = '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>'


@pytest.mark.parametrize(
    "hostile",
    [
        LAUGHS + svg("<desc>&c;</desc><circle r='1'/>"),
        '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + svg("<desc>&x;</desc><circle r='1'/>"),
        '<!DOCTYPE svg SYSTEM "http://example.org/a.dtd">' + svg("<circle r='1'/>"),
        "<!-- --><!doctype svg>" + svg("<circle r='1'/>"),
    ],
)
def test_documents_with_entities_are_refused_before_they_are_parsed(hostile):
    assert refusal(annotation(hostile)) in ("svg_doctype", "svg_broken")


def test_oversize_input_is_refused_quickly():
    assert refusal(annotation(svg("<!--" + "x" * 4_000_000 + "-->"))) == "svg_too_long"
    assert refusal(annotation(svg("<!--" * 900_000))) in ("svg_broken", "svg_doctype")
    assert refusal(annotation(svg('<path d="M0 0' + "q1 900 900 0" * 50_000 + '"/>'))) == "bad_shape"
    assert refusal(annotation(svg('<path d="M0 0h900v900h-900z' + "M1 1h1v1z" * 600 + '"/>'))) == "bad_shape"


def test_the_file_itself_is_judged():
    assert refusal("{") == "not_json"
    assert refusal(b"\xff\xfe{") == "not_json"
    assert refusal("[" * 100_000) == "not_json"
    assert refusal("[]") == "not_annotations"
    assert refusal('{"type": "FeatureCollection"}') == "not_annotations"
    assert refusal('{"type": "Annotation"}') == "not_annotation"
    assert refusal('{"type": "AnnotationPage", "items": [3]}') == "not_annotation"
    page = {"type": "AnnotationPage", "items": [EXAMPLE, EXAMPLE]}
    assert refusal(json.dumps(page), None) == "same_id"
    two = EXAMPLE | {"target": [EXAMPLE["target"], EXAMPLE["target"]]}
    assert refusal(json.dumps(two)) == "one_target"
    assert refusal(json.dumps(EXAMPLE | {"target": "front.jpg"})) == "no_selector"


def test_a_collection_with_its_page_inside_is_read():
    collection = {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": "http://example.org/collection1",
        "type": "AnnotationCollection",
        "total": 1,
        "first": {"id": "http://example.org/page1", "type": "AnnotationPage", "items": [EXAMPLE]},
    }
    assert len(read_page(json.dumps(collection))) == 1
    collection["first"]["next"] = "http://example.org/page2"
    assert refusal(json.dumps(collection)) == "several_pages"


def test_a_byte_order_mark_is_no_hindrance():
    assert read_page(b"\xef\xbb\xbf" + json.dumps(EXAMPLE).encode())


def test_words_lose_characters_that_could_disguise_them():
    body = {"type": "TextualBody", "purpose": "describing", "value": "sound\u202egnp.\u0007 top\nsecond line"}
    read = read_page(annotation(svg('<circle cx="5" cy="6" r="0"/>'), body=body))[0]
    assert read.words == "soundgnp. top\nsecond line"


# --- whose marks ----------------------------------------------------------------------------------------------


def test_a_name_that_stands_for_two_photos_is_refused():
    text = annotation(svg('<circle cx="5" cy="6" r="7"/>'))
    assert refusal(text, [PHOTO, Picture("front.jpg", 10, 10)]) == "two_of_a_name"
    assert refusal(text, [Picture("Front.JPG", 10, 10), Picture("FRONT.jpg", 10, 10)]) == "two_of_a_name"
    assert refusal(text, [Picture("back.jpg", 10, 10)]) == "no_picture"
    with pytest.raises(Refused):
        write_page([], [PHOTO, PHOTO])


def test_percent_encoded_and_decomposed_names_find_their_photo():
    for source in ("R%C3%BCcken%20%231.jpg", "Ru%CC%88cken%20%231.jpg", "file:///somewhere/R%C3%BCcken%20%231.jpg"):
        text = annotation(svg('<circle cx="5" cy="6" r="7"/>'), source=source)
        assert read_page(text, [Picture("Rücken #1.jpg", 100, 100)])[0].source == "Rücken #1.jpg"


def test_marks_of_one_photo_leave_the_others_out():
    items = [
        json.loads(annotation(svg(f'<circle cx="{k}" cy="6" r="7"/>'), source=name))
        for k, name in enumerate(("front.jpg", "back.jpg"))
    ]
    items[1]["id"] = URN.format(2)
    page = json.dumps({"type": "AnnotationPage", "items": items})
    assert [m.shape_px.x for m in read_marks(page, Picture("back.jpg", 4000, 3000))] == [1]
    with pytest.raises(Refused) as caught:
        read_marks(page, Picture("neck.jpg", 10, 10))
    assert "back.jpg, front.jpg" in say_error(caught.value)
    assert len(read_marks(json.dumps(EXAMPLE), PHOTO)) == 1


def test_export_names_are_unique_also_where_case_is_folded():
    names = ("a.jpg", "a.jpg", "A.JPG", "a (2).jpg", "noending", "noending")
    unique = unique_names(names)
    assert unique[0] == "a.jpg"
    assert len({name.casefold() for name in unique}) == len(names)
    assert "a (2).jpg" in unique[3]
    assert unique[5] == "noending (2)"
