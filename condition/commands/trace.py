"""``trace``: follows a crack between points."""

from __future__ import annotations

import argparse

from condition.commands.told import finish
from condition.errors import Refused
from condition.records.shapes import Pair
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photo", metavar="PHOTO", help=say("assist.help_photo"))
    parser.add_argument("points", nargs="+", metavar="X,Y", help=say("assist.help_points"))
    parser.add_argument("--tone", choices=("dark", "light"), help=say("assist.help_tone"))


def main(args: argparse.Namespace) -> int:
    """Follow the crack through the points, in order; at least two."""
    from condition.flow.assists import follow_crack
    from condition.flow.loose_photos import read_photo

    points = tuple(point_of(text) for text in args.points)
    told = follow_crack(read_photo(args.photo).rgb, points, tone=args.tone)
    return finish(args, told, _sentence(told))


def point_of(text: str) -> Pair:
    """Read ``X,Y``.

    Raises
    ------
    Refused
        The text is no pair of numbers.
    """
    x, y = numbers_of(text, 2, "X,Y")
    return x, y


def numbers_of(text: str, count: int, form: str) -> tuple[float, ...]:
    """Read so many numbers with commas between, or refuse the text and tell the form it should have."""
    from math import isfinite

    try:
        numbers = tuple(float(part) for part in text.split(","))
    except ValueError as error:
        raise Refused("assist.numbers", text=text, form=form) from error
    if len(numbers) != count or not all(map(isfinite, numbers)):
        raise Refused("assist.numbers", text=text, form=form)
    return numbers


def _sentence(told: dict) -> str:
    from itertools import pairwise
    from math import dist

    length = sum(dist(a, b) for a, b in pairwise(told["line"]))
    first = say("assist.followed", length=f"{length:.1f}", tone=say(f"assist.{told['tone']}"), count=len(told["line"]))
    if told["width_px"] is None:
        return f"{first} {say('assist.width_unseen')}"
    code = "assist.narrower" if told["width_bound"] else "assist.width"
    width = say(code, width=f"{told['width_px']:.2f}")
    return f"{first} {width}"
