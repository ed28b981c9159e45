"""How a command says what it did: a sentence, or one JSON object."""

from __future__ import annotations

import argparse
import json


def finish(args: argparse.Namespace, values: dict, sentence: str) -> int:
    """Print the JSON object when it was asked for, else the sentence; returns 0, done."""
    print(json.dumps(values, ensure_ascii=False) if args.json else sentence, flush=True)
    return 0
