"""Marks that travel: W3C Web Annotations, one annotation a mark, in and out.

Source: W3C Web Annotation Data Model, Recommendation 23 February 2017; Media Fragments URI 1.0, 4.2.2 (``xywh``).
"""

from __future__ import annotations

import json
import re
import unicodedata
import uuid
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import NamedTuple
from urllib.parse import quote, unquote

from condition.errors import InvalidRecord, Refused
from condition.records.legend import KINDS, OTHER, kind_of
from condition.records.shapes import Circle, Line, Point, Ring, Shape
from condition.report.svg_shape import read_svg, write_svg

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
MEDIA_FRAGMENTS = "http://www.w3.org/TR/media-frags/"
MEDIA_TYPE = 'application/ld+json;profile="http://www.w3.org/ns/anno.jsonld"'

MOST_BYTES = 64_000_000
MOST_MARKS = 20_000
MOST_WORDS = 10_000

_XYWH = re.compile(r"(?:(pixel|percent):)?(\d{1,9}),(\d{1,9}),(\d{1,9}),(\d{1,9})")
_TAGGING = ("tagging", "classifying", "identifying")
_DESCRIBING = ("describing", "commenting")


class Picture(NamedTuple):
    """What a mark can lie on: a photo by its file name, with its upright size."""

    name: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class TravellingMark:
    """One mark as it stands in an annotation.

    id : IRI of the annotation as written there (``urn:uuid:...`` in our own)
    source : file name of the photo, percent-decoded
    kind : a key of the legend; ``own_kind`` keeps a word that is none of them
    shape_px : upright pixels of the photo
    """

    id: str
    source: str
    kind: str
    own_kind: str
    words: str
    shape_px: Shape

    @property
    def uuid(self) -> str:
        """The UUID of a ``urn:uuid:`` id; of any other IRI always the same one made from it (RFC 9562, 5.5)."""
        return _uuid_of(self.id)


def write_page(
    marks: Iterable[TravellingMark],
    pictures: Iterable[Picture],
    *,
    created: str = "",
    creator: str = "",
    language: str = "en",
) -> str:
    """Return an AnnotationPage (JSON-LD text) with one Annotation a mark.

    Parameters
    ----------
    created : time in UTC ending in ``Z``; left out when empty
    creator : name of who marked; left out when empty

    Raises
    ------
    Refused
        Two pictures share a name, or a mark's picture is not among them.
    """
    sizes = _by_name(pictures)
    items = []
    for mark in marks:
        picture = sizes.get(_plain(mark.source))
        if picture is None:
            raise Refused("annotations.no_picture", source=mark.source)
        items.append(_annotation(mark, picture, created, creator, language))
    page_id = "urn:uuid:" + str(uuid.uuid5(uuid.NAMESPACE_URL, json.dumps(items, sort_keys=True)))
    page = {"@context": CONTEXT, "id": page_id, "type": "AnnotationPage", "items": items}
    return json.dumps(page, ensure_ascii=False, indent=2) + "\n"


def read_page(text: str | bytes, pictures: Iterable[Picture] | None = None) -> tuple[TravellingMark, ...]:
    """Return every mark of an AnnotationPage, an AnnotationCollection with its page inside, or one Annotation.

    Parameters
    ----------
    pictures : the photos the marks may lie on; None takes the svg's viewBox for the upright photo

    Raises
    ------
    Refused
        Not such a file, too large, a mark without a shape that can be read, a photo that is not there or whose
        name stands for two of them.
    """
    known = None if pictures is None else list(pictures)
    marks = []
    for number, annotation in _numbered(text):
        with _about(number):
            source, selector = _target(annotation)
            picture = None if known is None else _find(known, source)
            marks.append(_mark(annotation, source if picture is None else picture.name, selector, picture))
    return tuple(marks)


def read_marks(text: str | bytes, picture: Picture) -> tuple[TravellingMark, ...]:
    """Return the marks of a file that lie on one photo, in the file's order.

    Marks on other photos are left out. A source that is no file name (``urn:...``) stands for the photo when the
    whole file has no other.

    Raises
    ------
    Refused
        As :func:`read_page`; or no mark of the file lies on this photo.
    """
    found, others = [], []
    for number, annotation in _numbered(text):
        with _about(number):
            source, selector = _target(annotation)
        (found if _plain(source) == _plain(picture.name) else others).append((number, annotation, selector, source))
    if not found:
        sources = {source for *_, source in others}
        if len(sources) == 1 and next(iter(sources)).startswith("urn:"):
            found = others
        elif others:
            raise Refused("annotations.other_photo", photo=picture.name, found=", ".join(sorted(sources)[:5]))
        else:
            raise Refused("annotations.empty")
    marks = []
    for number, annotation, selector, _ in found:
        with _about(number):
            marks.append(_mark(annotation, picture.name, selector, picture))
    return tuple(marks)


def unique_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return the file names made unique for an export: the second ``a.jpg`` becomes ``a (2).jpg``.

    Names that differ only in case or in their Unicode form count as the same, since some file systems fold them.
    """
    taken = {_folded(name) for name in names}
    seen: set[str] = set()
    unique = []
    for name in names:
        chosen, count = name, 1
        while _folded(chosen) in seen or (count > 1 and _folded(chosen) in taken):
            count += 1
            stem, dot, ending = name.rpartition(".")
            chosen = f"{stem} ({count}).{ending}" if dot and stem else f"{name} ({count})"
        seen.add(_folded(chosen))
        unique.append(chosen)
    return tuple(unique)


def _plain(name: str) -> str:
    return unicodedata.normalize("NFC", name)


def _folded(name: str) -> str:
    return _plain(name).casefold()


def _uuid_of(iri: str) -> str:
    try:
        return str(uuid.UUID(iri.removeprefix("urn:uuid:")))
    except ValueError:
        return str(uuid.uuid5(uuid.NAMESPACE_URL, iri))


def _by_name(pictures: Iterable[Picture]) -> dict[str, Picture]:
    sizes: dict[str, Picture] = {}
    for picture in pictures:
        if _plain(picture.name) in sizes:
            raise Refused("annotations.two_of_a_name", source=picture.name)
        sizes[_plain(picture.name)] = picture
    return sizes


def _annotation(mark: TravellingMark, picture: Picture, created: str, creator: str, language: str) -> dict:
    bodies = [_body("tagging", mark.own_kind or mark.kind, "en" if not mark.own_kind else language)]
    if mark.words:
        bodies.append(_body("describing", mark.words, language))
    annotation: dict[str, object] = {
        "id": mark.id if ":" in mark.id else "urn:uuid:" + _uuid_of(mark.id),
        "type": "Annotation",
        "motivation": "describing",
    }
    if created:
        annotation["created"] = created
    if creator:
        annotation["creator"] = {"type": "Person", "name": creator}
    annotation["body"] = bodies
    annotation["target"] = {
        "source": quote(_plain(picture.name), safe=""),
        "selector": {
            "type": "SvgSelector",
            "value": write_svg(mark.shape_px, picture.width, picture.height),
        },
    }
    return annotation


def _body(purpose: str, value: str, language: str) -> dict:
    return {
        "type": "TextualBody",
        "purpose": purpose,
        "value": value,
        "format": "text/plain",
        "language": language,
    }


@contextmanager
def _about(number: int) -> Iterator[None]:
    """Add to a refusal which annotation of the file it is about."""
    try:
        yield
    except InvalidRecord as error:
        raise Refused("annotations.bad_shape", number=number, why=error.values["why"]) from error
    except Refused as error:
        raise Refused(error.code, **{"number": number, **error.values}) from error


def _numbered(text: str | bytes) -> Iterator[tuple[int, dict]]:
    items = _annotations(_parsed(text))
    if len(items) > MOST_MARKS:
        raise Refused("annotations.too_many", most=MOST_MARKS)
    seen: set[str] = set()
    for number, item in enumerate(items, 1):
        iri = item.get("id") if isinstance(item, dict) else None
        if not isinstance(iri, str) or not iri.strip() or "Annotation" not in _listed(item.get("type")):
            raise Refused("annotations.not_annotation", number=number)
        if iri in seen:
            raise Refused("annotations.same_id", number=number, id=iri[:80])
        seen.add(iri)
        yield number, item


def _parsed(text: str | bytes) -> object:
    if len(text) > MOST_BYTES:
        raise Refused("annotations.too_large", most=MOST_BYTES // 1_000_000)
    try:
        return json.loads(text.decode("utf-8-sig") if isinstance(text, bytes) else text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        raise Refused("annotations.not_json", why=str(error).splitlines()[0][:120]) from error


def _annotations(page: object) -> list:
    if not isinstance(page, dict):
        raise Refused("annotations.not_annotations")
    types = _listed(page.get("type"))
    if "Annotation" in types:
        return [page]
    if "AnnotationCollection" in types and isinstance(page.get("first"), dict):
        if page["first"].get("next"):
            raise Refused("annotations.several_pages")
        return _annotations({"type": "AnnotationPage", "items": page["first"].get("items")})
    if "AnnotationPage" in types:
        return _listed(page.get("items"))
    raise Refused("annotations.not_annotations")


def _listed(value: object) -> list:
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


def _iri(value: object) -> str:
    if isinstance(value, dict):
        value = value.get("id")
    return value if isinstance(value, str) else ""


def _target(annotation: dict) -> tuple[str, object]:
    """Return the source's name and the selector that will be read: the SVG before the fragment."""
    targets = _listed(annotation.get("target"))
    if len(targets) != 1:
        raise Refused("annotations.one_target", count=len(targets))
    target = targets[0]
    resource = target.get("source", target.get("id")) if isinstance(target, dict) else target
    iri, _, fragment = _iri(resource).partition("#")
    if not iri:
        raise Refused("annotations.no_source")
    selectors = [
        s for s in _listed(target.get("selector") if isinstance(target, dict) else None) if isinstance(s, dict)
    ]
    for selector in selectors:
        if "SvgSelector" in _listed(selector.get("type")) and isinstance(selector.get("value"), str):
            if selector.get("refinedBy"):
                raise Refused("annotations.refined")
            return _file_name(iri), selector["value"]
    fragments = [s.get("value") for s in selectors if "FragmentSelector" in _listed(s.get("type"))]
    for value in [*fragments, fragment]:
        if isinstance(value, str) and _xywh(value):
            return _file_name(iri), _xywh(value)
    raise Refused("annotations.no_selector")


def _file_name(iri: str) -> str:
    if iri.startswith("urn:"):
        return iri
    path = iri.partition("?")[0].rstrip("/")
    return unquote(path.rsplit("/", 1)[-1])


def _xywh(fragment: str) -> tuple[str, int, int, int, int] | None:
    """Return unit and numbers of the last ``xywh`` of a media fragment; None when it breaks the grammar."""
    found = None
    for pair in fragment.split("&"):
        name, _, value = pair.partition("=")
        if unquote(name) == "xywh":
            match = _XYWH.fullmatch(unquote(value))
            found = match and (match[1] or "pixel", *(int(digits) for digits in match.groups()[1:]))
    return found


def _find(pictures: list[Picture], source: str) -> Picture:
    same = [picture for picture in pictures if _plain(picture.name) == _plain(source)]
    same = same or [picture for picture in pictures if _folded(picture.name) == _folded(source)]
    if len(same) > 1:
        raise Refused("annotations.two_of_a_name", source=source)
    if not same:
        raise Refused("annotations.no_picture", source=source)
    return same[0]


def _mark(annotation: dict, source: str, selector: object, picture: Picture | None) -> TravellingMark:
    size = None if picture is None else (picture.width, picture.height)
    shape = read_svg(selector, size) if isinstance(selector, str) else _box(selector, size)
    if size:
        _check_inside(shape, size)
    kind, own_kind, words = _bodies(annotation)
    return TravellingMark(annotation["id"].strip(), source, kind, own_kind, words, shape)


def _box(fragment: tuple[str, int, int, int, int], size: tuple[int, int] | None) -> Ring:
    unit, x, y, w, h = fragment
    if unit == "percent":
        if size is None:
            raise Refused("annotations.no_selector")
        x, y = x * size[0] // 100, y * size[1] // 100
        w, h = -(-w * size[0] // 100), -(-h * size[1] // 100)
    if size:
        if x >= size[0] or y >= size[1]:
            raise Refused("annotations.outside")
        w, h = min(w, size[0] - x), min(h, size[1] - y)
    if w == 0 or h == 0:
        raise Refused("annotations.no_selector")
    return Ring(((x, y), (x + w, y), (x + w, y + h), (x, y + h)))


def _check_inside(shape: Shape, size: tuple[int, int]) -> None:
    match shape:
        case Point(x, y) | Circle(x, y):
            points = ((x, y),)
        case Line(points) | Ring(points):
            pass
    if not any(0 <= x <= size[0] and 0 <= y <= size[1] for x, y in points):
        raise Refused("annotations.outside")


def _bodies(annotation: dict) -> tuple[str, str, str]:
    tags, words = [], []
    if isinstance(annotation.get("bodyValue"), str):
        words.append(annotation["bodyValue"])
    for body in _listed(annotation.get("body")):
        if not isinstance(body, dict) or not isinstance(body.get("value"), str):
            continue
        purposes = _listed(body.get("purpose")) or _listed(annotation.get("motivation"))
        if any(purpose in _TAGGING for purpose in purposes):
            tags.append(body["value"])
        elif not purposes or any(purpose in _DESCRIBING for purpose in purposes):
            words.append(body["value"])
    kinds = [kind_of(_readable(tag)) for tag in tags]
    known = [kind for kind in kinds if kind[0] in KINDS and not kind[1]]
    kind, own_kind = (known or kinds or [(OTHER, "")])[0]
    return kind, own_kind[:200], "\n".join(filter(None, map(_readable, words)))[:MOST_WORDS]


def _readable(text: str) -> str:
    """Keep letters, marks and line ends; drop control and direction characters that could disguise the words."""
    return "".join(c for c in text if c == "\n" or not _hidden(c)).strip()


def _hidden(character: str) -> bool:
    return unicodedata.category(character) in ("Cc", "Cs") or character in _TURNS


_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
