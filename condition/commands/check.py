"""``check``: is the store sound? Mends what is safe to mend, tells the rest."""

from __future__ import annotations

import argparse
import json
import sys

from condition.errors import Problem
from condition.words import say, say_error, say_n


def attach(parser: argparse.ArgumentParser) -> None:
    """No arguments of its own."""


def main(args: argparse.Namespace) -> int:
    """Print every problem; returns 0 when there is none, 2 when the store is damaged."""
    from condition.flow.desk import store_folder
    from condition.flow.keeping import check

    folder = store_folder(args.store)
    checked = check(folder)
    sentence = say("store.sound", folder=folder)
    if not checked.ok:
        sentence = say_n("store.unsound", len(checked.problems), folder=folder)
    if args.json:
        print(json.dumps(_object(checked.ok, checked.problems, checked.notes, sentence), ensure_ascii=False))
    else:
        for problem in (*checked.notes, *checked.problems):
            print(f"{problem.path}: {say_error(problem)}")
        if checked.ok:
            print(sentence)
    if not checked.ok:
        print(sentence, file=sys.stderr)
    return 0 if checked.ok else 2


def _object(ok: bool, problems: tuple[Problem, ...], notes: tuple[Problem, ...], sentence: str) -> dict:
    told = {"ok": ok, "problems": _lines(problems), "notes": _lines(notes)}
    return told if ok else {**told, "error": sentence}


def _lines(problems: tuple[Problem, ...]) -> list[dict[str, str]]:
    return [{"path": problem.path, "what": say_error(problem)} for problem in problems]
