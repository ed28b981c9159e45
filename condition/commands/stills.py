"""``stills VIDEO --job JOB``: the sharpest frames of a bench video, kept as photos of a job."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("video", type=Path, metavar="VIDEO", help=say("stills.help_video"))
    parser.add_argument("--job", required=True, metavar="JOB", help=say("intake.help_job"))
    parser.add_argument("--face", metavar="NAME", help=say("intake.help_face"))
    parser.add_argument("--at", metavar="M:SS", action="append", default=[], help=say("stills.help_at"))
    parser.add_argument("--most", type=int, default=6, metavar="N", help=say("stills.help_most"))


def main(args: argparse.Namespace) -> int:
    """Take stills in, opening the job if there is none of that name."""
    from condition.flow.desk import open_desk
    from condition.flow.jobs import find_or_open, view_named
    from condition.flow.stills import clock, moments, take_stills

    wanted = moments(",".join(args.at))
    desk = open_desk(args.store)
    job = find_or_open(desk, args.job)
    face = view_named(desk, job, args.face).id if args.face else None
    taken = take_stills(desk, job, args.video.name, args.video, moments_s=wanted, most=args.most, view_id=face)
    for one in taken:
        told = {
            "video": str(args.video),
            "seconds": round(one.seconds, 3),
            "photo": one.photo.id,
            "file": one.photo.file_name,
            "cards": list(one.cards),
            "taken": one.photo.taken or None,
        }
        if args.json:
            print(json.dumps(told, ensure_ascii=False), flush=True)
        else:
            cards = (
                say("stills.with_cards", ids=", ".join(map(str, one.cards))) if one.cards else say("stills.no_cards")
            )
            print(say("stills.kept", at=clock(one.seconds), file=one.photo.file_name, cards=cards), flush=True)
    return 0
