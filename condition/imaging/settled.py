"""Two return photos of one face, the lamp moved in between: what both show has changed, what one shows is light."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from condition.imaging.change import placed_in
from condition.imaging.comparison import Comparison, Judged
from condition.imaging.places import PlaceJudged

OVER_LIGHT = ("reflection", "shadow", "faint")
"""Reasons that a second photo in other light settles."""
LEAST_SHARED = 0.35
"""Of two outlines' union: a change lies where it lies, a mirrored lamp wanders."""
LEAST_ALIKE = 0.5
"""Cosine between the two steps in colour."""
LEAST_SHOWN = 0.5


def settled(one: Comparison, two: Comparison) -> Comparison:
    """Join two comparisons of the same intake photo; registration and outlines are those of the first."""
    first, second = (*one.changes, *one.doubtful), (*two.changes, *two.doubtful)
    joined = [_against(judged, second, two) for judged in first]
    only = [judged for judged in second if not any(_is_same(judged, other) for other in first)]
    overlay = one.registration.overlay
    joined += [
        replace(_against(judged, first, one), ring_after_px=overlay.to_after(judged.ring_before_px)) for judged in only
    ]
    joined.sort(key=lambda judged: -judged.change.peak)
    return Comparison(
        one.registration,
        tuple(judged for judged in joined if not judged.reason),
        tuple(judged for judged in joined if judged.reason),
        one.compared | two.compared,
        tuple(_place(a, b) for a, b in zip(one.places, two.places, strict=True)),
    )


def _against(judged: Judged, others: tuple[Judged, ...], elsewhere: Comparison) -> Judged:
    if any(_is_same(judged, other) for other in others):
        return replace(judged, reason="") if judged.reason in OVER_LIGHT else judged
    shown = elsewhere.compared[judged.change.window][judged.change.mask].mean()
    if shown >= LEAST_SHOWN and judged.reason in ("", *OVER_LIGHT):
        return replace(judged, reason="light")
    return judged


def _is_same(one: Judged, two: Judged) -> bool:
    a, b = one.change, two.change
    both = tuple(slice(min(p.start, q.start), max(p.stop, q.stop)) for p, q in zip(a.window, b.window, strict=True))
    if any(max(p.start, q.start) >= min(p.stop, q.stop) for p, q in zip(a.window, b.window, strict=True)):
        return False
    first, second = placed_in(a.window, a.mask, both), placed_in(b.window, b.mask, both)
    shared = (first & second).sum() / max(int((first | second).sum()), 1)
    lengths = float(np.linalg.norm(a.offset) * np.linalg.norm(b.offset))
    return bool(shared >= LEAST_SHARED and a.offset @ b.offset > LEAST_ALIKE * lengths)


def _place(one: PlaceJudged, two: PlaceJudged) -> PlaceJudged:
    """What two photos say of one place: a change must show in both that show the place."""
    if one.unseen or two.unseen:
        return replace(two, ring_after_px=one.ring_after_px) if one.unseen and not two.unseen else one
    if one.changed and two.changed:
        reason = "" if one.reason in OVER_LIGHT else one.reason
        return replace(one, reason=reason if two.reason else "")
    if one.changed or two.changed:
        still = two if one.changed else one
        return replace(still, ring_after_px=one.ring_after_px)
    return one
