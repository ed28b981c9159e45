"""``codes``: what a stamp, a printed code or colour bands may stand for."""

from __future__ import annotations

import argparse

from condition.commands.told import finish
from condition.words import say


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", metavar="TEXT", help=say("codes.help_text"))
    parser.add_argument("--claimed", metavar="YEAR", default="", help=say("codes.help_claimed"))


def main(args: argparse.Namespace) -> int:
    """Tell every kind of code the text can be, with its value, and where that is from."""
    from condition.flow.codes import meanings

    found = [
        {
            "kind": kind,
            "said": [say(code, **dict(values)) for code, values in (one.headline, *one.claims, *one.besides)],
        }
        for kind, one in meanings(args.text, args.claimed)
    ]
    lines = [_line(one["kind"], *one["said"]) for one in found]
    return finish(args, {"text": args.text, "meanings": found}, "\n".join(lines))


def _line(kind: str, headline: str, *besides: str) -> str:
    name = say(f"codes.kind_{kind.replace(' ', '_')}")
    return " ".join((f"{name}: {headline.rstrip('.')}.", *besides))
