"""``handover JOB OUT.pdf``: the paper of a job's latest change of hands, and where the instrument is."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say

PAPERS = ("sign", "specialist", "label")


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=say("paper.help_job"))
    parser.add_argument("out", type=Path, metavar="OUT.pdf", help=say("paper.help_out"))
    parser.add_argument("--number", type=int, metavar="N", help=say("handover.help_number"))
    parser.add_argument("--paper", choices=PAPERS, default="sign", help=say("handover.help_paper"))


def main(args: argparse.Namespace) -> int:
    """Write the paper; returns 0."""
    from condition.flow.desk import open_desk
    from condition.flow.handover_papers import told_whereabouts, write_handover
    from condition.flow.handovers import where_is, where_words
    from condition.flow.jobs import job_named

    desk = open_desk(args.store)
    job = job_named(desk, args.job)
    write_handover(desk, job, args.out, number=args.number, paper=args.paper)
    facts = told_whereabouts(desk, job)
    sentence = say("handover.written", file=args.out, where=where_words(where_is(desk, job)))
    return finish(args, {"file": str(args.out), **facts}, sentence)
