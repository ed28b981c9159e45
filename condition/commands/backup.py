"""``backup DIR``: copies the store into a new folder while it is in use."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("target", metavar="DIR", type=Path, help=say("store.help_target"))


def main(args: argparse.Namespace) -> int:
    """Copy, check the copy, and name it; refusals and damage are told by the caller."""
    from condition.flow.desk import store_folder
    from condition.flow.keeping import backup

    target = backup(store_folder(args.store), args.target)
    return finish(args, {"file": str(target)}, say("store.backed_up", folder=target))
