"""``verify DIR|PDF``: is an archive, or a report given out, what it was when it was made?"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from condition.errors import Problem
from condition.words import say, say_error, say_n


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("path", type=Path, metavar="DIR|PDF", help=say("archive.help_path"))


def main(args: argparse.Namespace) -> int:
    """Print every problem, and what the check proves; returns 0 when there is none, 2 otherwise."""
    from condition.flow.archiving import verify

    verified = verify(args.path)
    sentence = say("archive.sound", path=args.path)
    if not verified.ok:
        sentence = say_n("archive.unsound", len(verified.problems), path=args.path)
    if args.json:
        told = {"ok": verified.ok, "problems": _lines(verified.problems), "notes": _lines(verified.notes)}
        print(json.dumps(told if verified.ok else {**told, "error": sentence}, ensure_ascii=False))
    else:
        for problem in verified.problems:
            print(f"{problem.path}: {say_error(problem)}")
        if verified.ok:
            print(sentence)
            for note in verified.notes:
                print(say_error(note))
    if not verified.ok:
        print(sentence, file=sys.stderr)
    return 0 if verified.ok else 2


def _lines(problems: tuple[Problem, ...]) -> list[dict[str, str]]:
    return [{"path": problem.path, "what": say_error(problem)} for problem in problems]
