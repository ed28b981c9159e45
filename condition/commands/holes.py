"""``holes``: proposes round holes in a box."""

from __future__ import annotations

import argparse

from condition.commands.told import finish
from condition.commands.trace import numbers_of
from condition.errors import Refused
from condition.words import say, say_n


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("assist.help_photo"))
    parser.add_argument("--box", required=True, metavar="X,Y,W,H", help=say("assist.help_box"))
    parser.add_argument("--diameter", metavar="LEAST,MOST", help=say("assist.help_diameter"))
    parser.add_argument("--bright", action="store_true", help=say("assist.help_bright"))
    parser.add_argument("--height", type=float, default=0.0, metavar="MM", help=say("scale.help_height"))


def main(args: argparse.Namespace) -> int:
    """Propose holes, the surest first; with size cards in the photo each has its diameter in millimetres."""
    from condition.flow.assists import round_holes
    from condition.flow.loose_photos import read_photo
    from condition.flow.measuring import plane_for_photo

    box = numbers_of(args.box, 4, "X,Y,W,H")
    diameter = None if args.diameter is None else numbers_of(args.diameter, 2, "LEAST,MOST")
    photo = read_photo(args.photo)
    try:
        plane = plane_for_photo(photo.rgb, photo.focal_35mm, args.height)
    except Refused:
        if diameter is not None:
            raise
        plane = None
    told = round_holes(photo.rgb, box, plane, diameter_mm=diameter, bright=args.bright)
    return finish(args, told, _sentence(told))


def _sentence(told: dict) -> str:
    doubtful = len(told["holes"]) - told["sure"]
    lines = [f"{say_n('assist.holes_sure', told['sure'])} {say_n('assist.holes_doubtful', doubtful)}"]
    for hole in told["holes"]:
        x, y = hole["centre"]
        size = f"{hole['diameter_px']:.1f} px"
        if "diameter" in hole:
            size += f", {hole['diameter']['value']:.2f} ± {hole['diameter']['expanded']:.2f} mm"
        lines.append(
            say("assist.hole" if hole["sure"] else "assist.hole_doubtful", x=f"{x:.1f}", y=f"{y:.1f}", size=size)
        )
    return "\n".join(lines)
