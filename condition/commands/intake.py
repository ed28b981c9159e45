"""``intake --job JOB PHOTO...``: photos judged, and the good ones kept in a job."""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path

from condition.commands.inspect import accepted_line, refused_line
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--job", required=True, metavar="JOB", help=say("intake.help_job"))
    parser.add_argument("--face", metavar="NAME", help=say("intake.help_face"))
    parser.add_argument("photos", nargs="+", type=Path, metavar="PHOTO", help=say("inspect.help_photo"))


def main(args: argparse.Namespace) -> int:
    """Take photos in, opening the job if there is none of that name; returns 2 when any was refused."""
    from condition.flow.desk import open_desk
    from condition.flow.intake import take_in
    from condition.flow.jobs import find_or_open, view_named

    desk = open_desk(args.store)
    job = find_or_open(desk, args.job)
    face = view_named(desk, job, args.face).id if args.face else None
    files = [(os.path.basename(path) or str(path), path) for path in args.photos]
    status = 0
    for path, taken in zip(args.photos, take_in(desk, job, files, view_id=face), strict=True):
        if taken.error is not None:
            status = 2
            told = refused_line(str(path), taken.error)
            print(told["error"], file=sys.stderr, flush=True)
        else:
            told = {**accepted_line(str(path), taken.inspection), "photo": taken.photo.id}
        if args.json:
            print(json.dumps(told, ensure_ascii=False), flush=True)
        elif taken.photo:
            code = "intake.already_here" if taken.already_here else "intake.kept"
            lines = [say(code, file=path, photo=taken.photo.id), *(f"  {line}" for line in told["advice"])]
            print("\n".join(lines), flush=True)
    return status
