"""``grow``: grows a region from a point, or snaps a rough ring to its edge."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.commands.trace import point_of
from condition.errors import Refused
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("assist.help_photo"))
    parser.add_argument("point", nargs="?", metavar="X,Y", help=say("assist.help_grow_point"))
    parser.add_argument("--inside", metavar="FILE", help=say("assist.help_inside"))
    parser.add_argument("--amount", type=float, metavar="0..1", help=say("assist.help_amount"))
    parser.add_argument("--add", action="append", default=[], metavar="X,Y", help=say("assist.help_add"))
    parser.add_argument("--away", action="append", default=[], metavar="X,Y", help=say("assist.help_away"))


def main(args: argparse.Namespace) -> int:
    """Grow from the point; with ``--inside`` from the ring drawn there, in which the point then lies too."""
    from condition.flow.assists import drawn_ring, grow_loss
    from condition.flow.loose_photos import read_photo

    if args.amount is not None and not 0 <= args.amount <= 1:
        raise Refused("assist.amount", amount=f"{args.amount:g}")
    if args.point is None and args.inside is None:
        raise Refused("assist.no_start")
    point = None if args.point is None else point_of(args.point)
    add, away = (tuple(point_of(text) for text in texts) for texts in (args.add, args.away))
    photo = read_photo(args.photo)
    if args.inside is None:
        told = grow_loss(photo.rgb, point, args.amount, add=add, away=away)
    else:
        ring = drawn_ring(text_of(args.inside), Path(args.photo).name, photo.rgb)
        told = grow_loss(photo.rgb, ring, args.amount, add=add if point is None else (point, *add), away=away)
    return finish(args, told, _sentence(told))


def text_of(path: str) -> bytes:
    """Read an annotation file."""
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise Refused("assist.no_ring_file", file=path) from error


def _sentence(told: dict) -> str:
    return say(
        "assist.grown",
        area=f"{told['area_px2']:.0f}",
        softness=f"{told['softness_px2']:.0f}",
        vertices=len(told["ring"]),
        islands=len(told["holes"]),
    )
