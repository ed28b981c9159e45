"""``measure``: measures every mark of a photo, from a file of W3C annotations."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from condition.commands.scale import attach_scale
from condition.commands.told import finish
from condition.errors import Refused
from condition.records.measurement import Measurement, as_json, as_text
from condition.words import say, say_error

FAR_OUTSIDE = 0.5
"""Share of the cards' span from which a mark is said to lie far outside them."""


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("scale.help_photo"))
    parser.add_argument("--marks", required=True, metavar="FILE", help=say("measure.help_marks"))
    parser.add_argument("--known", metavar="X1,Y1,X2,Y2,MM", help=say("measure.help_known"))
    attach_scale(parser)


def main(args: argparse.Namespace) -> int:
    """Measure each mark; a mark that cannot be measured is told, the others still are (exit 2 when none could)."""
    from condition.flow.loose_photos import read_photo
    from condition.flow.measuring import (
        marks_on,
        measure_marks,
        plane_for_distance,
        plane_from_arguments,
    )

    photo = read_photo(args.photo)
    marks = marks_on(_text(args.marks), args.photo, photo)
    if args.known is not None:
        plane = plane_for_distance(photo.rgb, photo.focal_35mm, _known(args.known), args.height)
    else:
        plane = plane_from_arguments(photo, args.height, args.cards, args.check_line, args.camera_distance)
    measured = measure_marks([(mark.kind, mark.shape_px) for mark in marks], plane, photo.rgb)
    rows, lines = [], []
    for mark, found in zip(marks, measured, strict=True):
        row: dict[str, object] = {"id": mark.id, "kind": mark.kind}
        row |= {m.quantity: as_json(m) for m in found.measurements}
        if found.refused:
            row["error"] = say_error(found.refused)
            print(f"{mark.id}: {row['error']}", file=sys.stderr)
        elif found.outside > FAR_OUTSIDE:
            row["advice"] = [say("measure.far_outside")]
        rows.append(row)
        lines.append(_line(mark.kind, found.measurements, row.get("advice", ())))
    advice = [say(code, **dict(named)) for code, named in plane.advice]
    finish(args, {"marks": rows, "advice": advice}, "\n".join([*lines, *(f"  {line}" for line in advice)]))
    return 2 if rows and all("error" in row for row in rows) else 0


def _line(kind: str, measurements: tuple[Measurement, ...], advice) -> str:
    told = ", ".join(f"{say(f'quantity.{m.quantity}')} {as_text(m)}" for m in measurements)
    return " ".join([say("measure.line", kind=say(f"kind.{kind}"), told=told or say("measure.nothing")), *advice])


def _text(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise Refused("measure.no_marks_file", file=path) from error


def _known(text: str) -> tuple[float, ...]:
    try:
        numbers = tuple(float(part) for part in text.split(","))
    except ValueError as error:
        raise Refused("measure.known_form", text=text) from error
    if len(numbers) != 5:
        raise Refused("measure.known_form", text=text)
    return numbers
