"""``demo DIR``: the demonstration job, all of it, in a fresh store under DIR."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help=say("demo.help_folder"))


def main(args: argparse.Namespace) -> int:
    """Do the demonstration job; returns 0."""
    from condition.flow.demo import run_demo

    made = run_demo(args.folder)
    return finish(args, made, say("demo.done", **made))
