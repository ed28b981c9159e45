"""``report JOB OUT.pdf [--for READER]``: the condition report of a job, whole or for one reader."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.records.reader import READERS
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=say("paper.help_job"))
    parser.add_argument("out", type=Path, metavar="OUT.pdf", help=say("paper.help_out"))
    parser.add_argument("--for", dest="reader", choices=READERS, metavar="READER", help=say("paper.help_for"))


def main(args: argparse.Namespace) -> int:
    """Write the report; returns 0."""
    from condition.flow.desk import open_desk
    from condition.flow.jobs import job_named

    desk = open_desk(args.store)
    job = job_named(desk, args.job)
    if args.reader:
        from condition.flow.readers import paper_for

        out = paper_for(desk, job, args.reader, args.out)
    else:
        from condition.flow.papers import condition_report

        out = condition_report(desk, job, args.out)
    return finish(args, {"file": str(out)}, say("paper.done", file=out))
