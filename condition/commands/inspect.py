"""``inspect``: is each photo fit for the job? Nothing is stored."""

from __future__ import annotations

import argparse
import json
import os
import sys

from condition.errors import ConditionError
from condition.words import say, say_error


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("photos", nargs="+", metavar="PHOTO", help=say("inspect.help_photo"))


def main(args: argparse.Namespace) -> int:
    """Tell each photo's facts and advice as it is judged; returns 2 when any was refused, the good ones still told."""
    from condition.flow.inspection import inspect_file
    from condition.flow.pool import shared

    pool = shared()
    waiting = [(path, pool.submit(inspect_file, path, os.path.basename(path) or path)) for path in args.photos]
    status = 0
    for path, future in waiting:
        try:
            told = accepted_line(path, future.result())
        except ConditionError as error:
            told = refused_line(path, error)
            status = 2
        if args.json:
            print(json.dumps(told), flush=True)
        elif told["accepted"]:
            print(_sentence(told), flush=True)
        if told["error"]:
            print(told["error"], file=sys.stderr, flush=True)
    return status


def accepted_line(path: str, seen) -> dict:
    """Return the JSON object of an accepted photo; ``seen`` is its Inspection."""
    return {
        "file": path,
        "accepted": True,
        "width": seen.width,
        "height": seen.height,
        "taken": seen.taken,
        "offset": seen.offset,
        "focal_35mm": seen.focal_35mm,
        "sha256": seen.sha256,
        "cards": list(seen.card_ids),
        "tilt_degrees": _rounded(seen.tilt_degrees, 1),
        "edge_px": _rounded(seen.edge_px, 2),
        "advice": [say(code, **dict(values)) for code, values in seen.advice],
        "error": None,
    }


def refused_line(path: str, error: ConditionError) -> dict:
    """Return the JSON object of a refused file."""
    facts = dict.fromkeys(("width", "height", "taken", "focal_35mm", "sha256"))
    return {"file": path, "accepted": False, **facts, "advice": [], "error": one_line(say_error(error))}


def one_line(sentence: str) -> str:
    """Return a sentence without line breaks and control characters: a file's name may hold any."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in sentence).split())


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def _sentence(told: dict) -> str:
    taken = " ".join(part for part in (told["taken"], told["offset"]) if part)
    focal = told["focal_35mm"]
    first = say(
        "inspect.accepted",
        file=told["file"],
        width=told["width"],
        height=told["height"],
        taken=taken or say("inspect.taken_unknown"),
        focal=say("inspect.focal", mm=f"{focal:g}") if focal else say("inspect.focal_unknown"),
    )
    return "\n".join([one_line(first), *(f"  {line}" for line in told["advice"])])
