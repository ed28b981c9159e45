"""``archive JOB DIR``: a BagIt archive of a job."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB", help=say("archive.help_job"))
    parser.add_argument("folder", type=Path, metavar="DIR", help=say("archive.help_dir"))


def main(args: argparse.Namespace) -> int:
    """Write the archive; returns 0."""
    from condition.flow.archiving import archive_job
    from condition.flow.desk import open_desk
    from condition.flow.jobs import job_named

    desk = open_desk(args.store)
    job = job_named(desk, args.job)
    folder = archive_job(desk, job, args.folder)
    return finish(args, {"file": str(folder)}, say("archive.done", job=job.name, folder=folder))
