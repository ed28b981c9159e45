"""``backup``: copies the store into a new folder while it is in use."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("target", metavar="DIR", type=Path, help=say("store.help_target"))
    parser.add_argument("--store", metavar="DIR", help=say("store.help_store"))
    parser.add_argument("--json", action="store_true", help=say("store.help_json"))


def main(args: argparse.Namespace) -> int:
    """Copy, check the copy, and name it; refusals and damage are told by the caller."""
    from condition.flow.desk import store_folder
    from condition.flow.keeping import backup

    target = backup(store_folder(args.store), args.target)
    if args.json:
        print(json.dumps({"file": str(target)}, ensure_ascii=False))
    else:
        print(say("store.backed_up", folder=target))
    return 0
