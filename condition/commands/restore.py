"""``restore DIR``: an archived job back into a store."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, metavar="DIR", help=say("archive.help_from"))


def main(args: argparse.Namespace) -> int:
    """Restore the job; returns 0."""
    from condition.flow.archiving import restore_job
    from condition.flow.desk import open_desk

    job = restore_job(open_desk(args.store), args.folder)
    return finish(args, {"job": job.name}, say("archive.restored", job=job.name))
