"""Two return photos of one face, the lamp moved in between: what both show has changed, what one shows is light."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

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
    window, (mask,) = filled([judged.ring_before_px])
    there = elsewhere.compared[window]
    shown = there[mask[: there.shape[0], : there.shape[1]]]
    if shown.size and shown.mean() >= LEAST_SHOWN and judged.reason in ("", *OVER_LIGHT):
        return replace(judged, reason="light")
    return judged


def filled(rings: list[np.ndarray]) -> tuple[tuple[slice, slice], np.ndarray]:
    """The window that holds all rings (N, 2) px, and bool (rings, h, w): each filled in it."""
    every = np.vstack(rings)
    low, high = np.maximum(np.floor(every.min(0)).astype(int), 0), np.ceil(every.max(0)).astype(int) + 1
    masks = np.zeros((len(rings), high[1] - low[1], high[0] - low[0]), np.uint8)
    for mask, ring in zip(masks, rings, strict=True):
        cv2.fillPoly(mask, [np.round((ring - low - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return (slice(low[1], high[1]), slice(low[0], high[0])), masks > 0


def _is_same(one: Judged, two: Judged) -> bool:
    a, b = one.ring_before_px, two.ring_before_px
    if (a.max(0) < b.min(0)).any() or (b.max(0) < a.min(0)).any():
        return False
    _, (first, second) = filled([a, b])
    shared = (first & second).sum() / max(int((first | second).sum()), 1)
    step, other = one.change.offset, two.change.offset
    alike = step @ other > LEAST_ALIKE * float(np.linalg.norm(step) * np.linalg.norm(other))
    return bool(shared >= LEAST_SHARED and alike)


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
