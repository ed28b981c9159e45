"""The demonstration's return: the instrument photographed again, compared, and what the examiner made of it.

``demo_images/return.json`` names the photos, what was declared, the marks drawn on them by eye and the decisions.
"""

from __future__ import annotations

import math
from pathlib import Path

from condition.flow.demo_photos import drawn, taken_photo
from condition.flow.desk import Desk, new_id
from condition.flow.return_changes import accept_as_finding, changes_of, dismiss, explain
from condition.flow.return_check import (
    checks_of,
    confirm_pair,
    declare,
    edit_check,
    open_changes,
    open_check,
    put_pair,
)
from condition.flow.return_doubt import doubt_of, settle_together
from condition.flow.return_run import compare_now, pair_now
from condition.flow.return_verdicts import confirm_verdict, verdicts_of
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.photo import Photo
from condition.records.return_check import DeclaredChange, DeclaredRegion, ReturnChange, ReturnCheck, ReturnPair
from condition.records.shapes import Pair, Ring

NEAR_PX = 40.0
"""How near a decision's place must lie to the change it is about."""


def return_check(desk: Desk, job: Job, told: dict, photos: dict[str, Photo]) -> None:
    """Take the return photos in, pair and compare them, and decide as the examiner did."""
    check = open_check(desk, job, told["earlier"], told["later"])
    taken = {entry["file"]: taken_photo(desk, job, entry, occasion=check.later) for entry in told["photos"]}
    known = {**photos, **taken}
    for entry in told["declared"]:
        regions = tuple(
            DeclaredRegion(known[region["photo"]].id, Ring(tuple(map(tuple, region["ring"]))))
            for region in entry["regions"]
        )
        check = declare(desk, check, DeclaredChange(new_id(), entry["what"], entry["words"], regions))
    by_number = {finding.number: finding for finding in desk.store.find(Finding, job_id=job.id)}
    for mark in told["marks"]:
        finding = by_number[mark["finding"]]
        drawn(desk, known[mark["photo"]], mark, finding.kind, finding.id)
    _confirm_pairs(desk, check, told["pairs"], known)
    compare_now(desk, check)
    for entry in told["decisions"]:
        _decide(desk, check, entry, known)
    _dismiss_doubtful(desk, check, told["looked_at"])
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=job.id)}
    said = {int(number): words for number, words in told["verdicts"].items()}
    for verdict in verdicts_of(desk, check):
        entry = said.get(numbers[verdict.finding_id])
        if entry is not None:
            confirm_verdict(desk, verdict, entry["verdict"], entry["words"])
    edit_check(desk, check, not_compared=told["not_compared"], words=told["words"])


def _confirm_pairs(desk: Desk, check: ReturnCheck, wanted: dict[str, str], known: dict[str, Photo]) -> None:
    """Confirm what the program proposes where it is right, and pair the rest by hand."""
    proposed = {pair.after_id: pair for pair in pair_now(desk, check)}
    for after_name, before_name in wanted.items():
        after, before = known[after_name], known[before_name]
        pair = proposed.get(after.id)
        if pair is not None and pair.before_id == before.id:
            confirm_pair(desk, pair)
        else:
            put_pair(desk, check, after, before)


def _decide(desk: Desk, check: ReturnCheck, entry: dict, known: dict[str, Photo]) -> None:
    """Do what the examiner did with a change; where the program did not find it there is nothing to decide."""
    change = _change_near(desk, check, known[entry["photo"]], tuple(entry["near"]))
    if change is None:
        return
    match entry["do"]:
        case "accept":
            accept_as_finding(desk, change, entry["kind"], entry["words"])
        case "explain":
            explain(desk, change, entry["words"])
        case "dismiss":
            dismiss(desk, change, entry["words"])


def _dismiss_doubtful(desk: Desk, check: ReturnCheck, words: str) -> None:
    """Dismiss, as the examiner did who looked at each, what is in doubt and looks like damage."""
    first, _ = doubt_of(desk, check, changes_of(desk, check))
    settle_together(desk, first, words)


def _change_near(desk: Desk, check: ReturnCheck, after: Photo, near: Pair) -> ReturnChange | None:
    pairs = {pair.id for pair in desk.store.find(ReturnPair, check_id=check.id, after_id=after.id)}
    here = [one for one in changes_of(desk, check) if one.pair_id in pairs and one.decision == "open"]
    apart = [(math.dist(_middle(one.ring_after_px), near), one) for one in here]
    nearest = min(apart, key=lambda pair: pair[0], default=(math.inf, None))
    return nearest[1] if nearest[0] <= NEAR_PX else None


def _middle(ring: Ring) -> Pair:
    xs, ys = zip(*ring.points, strict=True)
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def papers_of_demo(desk: Desk, job: Job, folder: Path) -> tuple[dict[str, str], dict[str, object]]:
    """Write the papers of the job's return check and tell what it came to."""
    from condition.flow.return_papers import before_after_report, client_summary

    (check,) = checks_of(desk, job)
    report = before_after_report(desk, job, check, folder / "before-and-after.pdf")
    summary = client_summary(desk, job, check, folder / "client-summary.pdf")
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=job.id)}
    accepted = {one.finding_id for one in changes_of(desk, check) if one.decision == "accepted"}
    came_to = {
        "verdicts": {str(numbers[one.finding_id]): one.verdict for one in verdicts_of(desk, check)},
        "new": sorted(numbers[key] for key in accepted),
        "open": len(open_changes(desk, check)),
    }
    return {"before_after": str(report), "client_summary": str(summary)}, came_to
