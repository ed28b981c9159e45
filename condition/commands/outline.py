"""``outline``: takes the outline of a body or headstock, and says how much of it has an edge under it."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.grow import text_of
from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("assist.help_photo"))
    parser.add_argument("--inside", metavar="FILE", help=say("assist.help_inside_outline"))


def main(args: argparse.Namespace) -> int:
    """Take the outline of what fills the photo; with ``--inside`` of what the ring drawn there is roughly round."""
    from condition.flow.assists import drawn_ring, take_outline
    from condition.flow.loose_photos import read_photo

    photo = read_photo(args.photo)
    hint = drawn_ring(text_of(args.inside), Path(args.photo).name, photo.rgb) if args.inside else None
    told = take_outline(photo.rgb, hint)
    taken = say("assist.outline", vertices=len(told["ring"]), percent=round(100 * told["edge_share"]))
    return finish(args, told, f"{taken}\n{told['advice']}".strip())
