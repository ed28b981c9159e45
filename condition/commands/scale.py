"""``scale``: finds the size cards of a photo and its plane in millimetres."""

from __future__ import annotations

import argparse

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("scale.help_photo"))
    attach_scale(parser)


def attach_scale(parser: argparse.ArgumentParser) -> None:
    """The options that ``scale`` and ``measure`` share."""
    parser.add_argument("--height", type=float, default=0.0, metavar="MM", help=say("scale.help_height"))
    parser.add_argument("--check-line", type=float, metavar="MM", help=say("scale.help_check_line"))
    parser.add_argument("--camera-distance", type=float, metavar="MM", help=say("scale.help_camera_distance"))
    parser.add_argument("--cards", metavar="ID,ID,..", help=say("scale.help_cards"))


def main(args: argparse.Namespace) -> int:
    """Find the cards and the plane; a photo without a usable card is refused."""
    from condition.flow.loose_photos import read_photo
    from condition.flow.measuring import plane_from_arguments, plane_told

    photo = read_photo(args.photo)
    plane = plane_from_arguments(photo, args.height, args.cards, args.check_line, args.camera_distance)
    values = {**plane_told(plane), "advice": [say(code, **dict(named)) for code, named in plane.advice]}
    first = say(
        "scale.found",
        cards=", ".join(map(str, values["cards"])),
        mm_per_px=f"{plane.mm_per_px:.4f}",
        percent=f"{100 * plane.relative_expanded:.2g}",
        tilt=f"{plane.tilt_degrees or 0:.0f}",
        residual=f"{plane.residual_px:.2f}",
    )
    return finish(args, values, "\n".join([first, *(f"  {line}" for line in values["advice"])]))
