"""``estimate JOB OUT.pdf``: the estimate of a job as a PDF, the latest edition or the one asked for."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=say("paper.help_job"))
    parser.add_argument("out", type=Path, metavar="OUT.pdf", help=say("paper.help_out"))
    parser.add_argument("--edition", type=int, metavar="N", help=say("estimate.help_edition"))


def main(args: argparse.Namespace) -> int:
    """Write the estimate; returns 0."""
    from condition.flow.desk import open_desk
    from condition.flow.estimate_papers import told_estimate, write_estimate
    from condition.flow.jobs import job_named

    desk = open_desk(args.store)
    estimate = write_estimate(desk, job_named(desk, args.job), args.out, args.edition)
    facts = told_estimate(desk, estimate)
    state = "estimate.written_sent" if estimate.sent_at else "estimate.written_open"
    return finish(args, {"file": str(args.out), **facts}, say(state, file=args.out, edition=estimate.edition, **facts))
