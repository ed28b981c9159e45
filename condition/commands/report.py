"""``report JOB OUT.pdf``: the condition report of a job."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=say("paper.help_job"))
    parser.add_argument("out", type=Path, metavar="OUT.pdf", help=say("paper.help_out"))


def main(args: argparse.Namespace) -> int:
    """Write the report; returns 0."""
    from condition.flow.desk import open_desk
    from condition.flow.jobs import job_named
    from condition.flow.papers import condition_report

    desk = open_desk(args.store)
    out = condition_report(desk, job_named(desk, args.job), args.out)
    return finish(args, {"file": str(out)}, say("paper.done", file=out))
