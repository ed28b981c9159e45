"""``cards``: prints the sheet of size cards at true size."""

from __future__ import annotations

import argparse
from pathlib import Path

from condition.commands.told import finish
from condition.errors import Refused
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("out", metavar="OUT.pdf", help=say("cards.help_out"))
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help=say("cards.help_paper"))


def main(args: argparse.Namespace) -> int:
    """Write the PDF whole or not at all."""
    from condition.flow.printing import card_sheet_pdf

    out = Path(args.out)
    if out.is_dir() or not out.parent.is_dir():
        raise Refused("cards.not_a_file", file=args.out)
    part = out.with_name(f".{out.name}.part")
    part.write_bytes(card_sheet_pdf(args.paper))
    part.replace(out)
    return finish(args, {"file": str(out)}, say("cards.written", file=out))
