"""``compare``: lays a return photo over its intake photo and lists what changed."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING

from condition.commands.told import finish
from condition.records.measurement import as_json, as_text
from condition.words import say, say_n

if TYPE_CHECKING:
    from condition.flow.comparing import ChangeSeen


def attach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("before", metavar="BEFORE", help=say("compare.help_before"))
    parser.add_argument("after", metavar="AFTER", help=say("compare.help_after"))
    parser.add_argument("--height", type=float, metavar="MM", help=say("compare.help_height"))


def main(args: argparse.Namespace) -> int:
    """Compare two photos; a pair that does not go together is refused.

    Matrix products here are small: more threads than one only wait for each other, as long as they work.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from condition.flow.comparing import compare_files

    found = compare_files(args.before, args.after, args.height)
    registration = found.registration
    advice = [say(code, **dict(named)) for code, named in found.advice]
    values = {
        "registration": {
            "homography": registration.homography.tolist(),
            "residual_px": registration.residual_px,
            "local_residual_px": registration.local_px,
            "overlap": registration.overlap,
        },
        "changes": [_row(one) for one in found.changes],
        "doubtful": [_row(one) | {"reason": one.reason} for one in found.doubtful],
        "compared": found.share,
        "advice": advice,
    }
    lines = [
        say(
            "compare.laid",
            residual=f"{registration.local_px:.2f}",
            percent=round(100 * registration.overlap),
            compared=round(100 * found.share),
        ),
        say_n("compare.changes", len(found.changes)) if found.changes else say("compare.no_change"),
        *(f"  {_line(one)}" for one in found.changes),
    ]
    if found.doubtful:
        lines += [say_n("compare.doubtful", len(found.doubtful)), *(f"  {_line(one)}" for one in found.doubtful)]
    return finish(args, values, "\n".join([*lines, *advice]))


def _row(one: ChangeSeen) -> dict[str, object]:
    row: dict[str, object] = {
        "ring_before": [list(point) for point in one.ring_before_px.points],
        "ring_after": [list(point) for point in one.ring_after_px.points],
        "delta_e": one.delta_e,
        "sureness": one.sureness,
    }
    if one.area is not None:
        row["area"] = as_json(one.area)
    return row


def _line(one: ChangeSeen) -> str:
    xs, ys = zip(*one.ring_before_px.points, strict=True)
    told = say("compare.line", x=round(sum(xs) / len(xs)), y=round(sum(ys) / len(ys)), delta_e=f"{one.delta_e:.1f}")
    parts = [told]
    if one.area is not None:
        parts.append(as_text(one.area))
    if one.reason:
        parts.append(say(f"compare.reason_{one.reason}"))
    return ", ".join(parts)
