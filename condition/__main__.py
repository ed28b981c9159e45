"""The table of commands: ``python -m condition COMMAND`` loads only the module asked for."""

from __future__ import annotations

import argparse
import errno
import importlib
import json
import os
import sys
from importlib.util import find_spec
from typing import NoReturn

from condition.errors import ConditionError
from condition.words import say, say_error

COMMANDS = (
    "demo", "cards", "inspect", "intake", "stills", "scale", "measure", "trace", "holes", "grow", "outline", "compare",
    "report", "estimate", "handover", "codes",
    "archive", "verify", "restore", "check", "backup",
)  # fmt: skip
"""Every command, in the order of a job; one is offered once its module stands in ``condition/commands``."""

DONE, DEFECT, REFUSED = 0, 1, 2
INTERRUPTED = 130


def offered() -> list[str]:
    """Return the commands that are there."""
    return [name for name in COMMANDS if find_spec(f"condition.commands.{name}")]


class _Parser(argparse.ArgumentParser):
    """Tells a wrong use in one line."""

    def error(self, message: str) -> NoReturn:
        raise _Misused(message)


class _Misused(Exception):
    pass


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns 0 done, 1 a defect, 2 refused."""
    words = sys.argv[1:] if argv is None else argv
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    name = words[0] if words else "--help"
    as_json = "--json" in words
    if name in ("-h", "--help"):
        _table().print_help()
        return DONE
    if name not in offered():
        return _tell(say("cli.unknown", name=name), as_json, REFUSED)
    command = importlib.import_module(f"condition.commands.{name}")
    try:
        return command.main(_arguments(command, name, words[1:]))
    except _Misused as error:
        return _tell(say("cli.usage", why=error, name=name), as_json, REFUSED)
    except ConditionError as error:
        return _tell(say_error(error), as_json, REFUSED)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as error:
        return _failed(error, as_json)


def _table() -> argparse.ArgumentParser:
    lines = [f"  {name:<10} {say(f'cli.help_{name}')}" for name in offered()]
    parser = argparse.ArgumentParser(
        prog="python -m condition",
        usage="python -m condition COMMAND",
        description=say("cli.about"),
        epilog="\n".join([f"{say('cli.commands')}:", *lines, "", say("cli.more")]),
        formatter_class=argparse.RawDescriptionHelpFormatter,
        add_help=False,
    )
    return parser


def _arguments(command, name: str, words: list[str]) -> argparse.Namespace:
    parser = _Parser(
        prog=f"python -m condition {name}",
        description=say(f"cli.help_{name}"),
        allow_abbrev=False,
        conflict_handler="resolve",
    )
    parser.add_argument("--json", action="store_true", help=say("cli.help_json"))
    parser.add_argument("--store", metavar="DIR", help=say("cli.help_store"))
    command.attach(parser)
    return parser.parse_args(words)


def _failed(error: Exception, as_json: bool) -> int:
    if os.environ.get("CONDITION_DEBUG"):
        raise error
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return _tell(say("cli.disk_full"), as_json, REFUSED)
    if isinstance(error, PermissionError) and error.filename:
        return _tell(say("cli.not_writable", file=error.filename), as_json, REFUSED)
    return _tell(say("cli.defect", why=f"{type(error).__name__}: {error}"), as_json, DEFECT)


def _tell(sentence: str, as_json: bool, status: int) -> int:
    """Say what is wrong in one line on standard error, and in the JSON."""
    line = " ".join(sentence.split())
    if as_json:
        print(json.dumps({"error": line}), flush=True)
    print(line, file=sys.stderr, flush=True)
    return status


if __name__ == "__main__":
    sys.exit(main())
