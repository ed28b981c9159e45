"""What became of each finding: told by kind, from marks on the later photos, else from what its place shows there."""

from __future__ import annotations

from dataclasses import dataclass, replace

from condition.errors import Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.measure.combine import combine
from condition.measure.tally import tally
from condition.records.fault import Fault
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.measurement import Measurement, as_text
from condition.records.photo import Photo
from condition.records.return_check import (
    VERDICTS,
    PlaceFound,
    ReturnChange,
    ReturnCheck,
    ReturnPair,
    ReturnVerdict,
    Verdict,
)
from condition.records.task import Told
from condition.words import say

LINES = ("crack", "open seam", "lifted")
HOLES = ("screw hole", "enlarged hole", "added rout")
REGIONS = (
    "finish loss",
    "wear groove",
    "worn fret",
    "chip",
    "stain",
    "corrosion",
    "dent",
    "finish checking",
    "refinish",
)
NOT_BY_EYE = ("electrical fault", "missing part")
"""What a photo of the place does not tell; a test or the parts list does."""
SIZES = ("diameter", "length", "area", "width", "depth", "count")
"""Quantities that a verdict rests on, the first there is."""

RETESTED: dict[str, Verdict] = {"gone": "repaired", "as before": "as it was", "better": "better", "worse": "worse"}
"""What a fault's retest says of the finding it stands for."""

CLOSED, STILL_OPEN = 0.12, 0.85
"""Share of a line that still stands open: below, it is closed; above, it is as it was."""
FILLED = 0.4
"""Share of its darkness that a hole keeps when it is filled; bores keep nearly all of it."""
DARK_BORE = 8.0
"""L*: a mark that was no darker than that beside the surface was no bore that a filling would lighten."""
MUCH_OF_IT, LITTLE_OF_IT = 0.5, 0.12
"""Share of a region that changed: above, something was done to it; below, it is as it was."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """See :class:`condition.records.return_check.ReturnVerdict`."""

    verdict: Verdict
    why: tuple[Told, ...] = ()
    before: Measurement | None = None
    after: Measurement | None = None
    exceeds: bool | None = None
    pair_id: str = ""


def propose_again(desk: Desk, check: ReturnCheck) -> tuple[ReturnVerdict, ...]:
    """Propose a verdict for each finding of the earlier photos; what a person confirmed stays beside it."""
    pairs = [pair for pair in desk.store.find(ReturnPair, check_id=check.id) if pair.state == "compared"]
    photos = {photo.id: photo for photo in desk.store.find(Photo, job_id=check.job_id)}
    changes = desk.store.find(ReturnChange, check_id=check.id)
    known = {one.finding_id: one for one in desk.store.find(ReturnVerdict, check_id=check.id)}
    retested = {
        fault.finding_id: fault
        for fault in desk.store.find(Fault, job_id=check.job_id)
        if fault.finding_id and fault.retest in RETESTED
    }
    wanted = []
    for finding in desk.store.find(Finding, job_id=check.job_id):
        marks = desk.store.find(Mark, finding_id=finding.id, role="finding")
        early = tuple(mark for mark in marks if photos[mark.photo_id].occasion == check.earlier)
        late = tuple(mark for mark in marks if photos[mark.photo_id].occasion == check.later)
        if marks and not early:
            continue
        proposal = propose(finding, early, late, pairs, photos, changes)
        if proposal.verdict == "not seen" and finding.id in retested:
            proposal = by_retest(retested[finding.id], proposal)
        wanted.append((finding.id, proposal))
    with desk.store.write(new_id(), desk.person) as work:
        for finding_id, proposal in wanted:
            before = known.pop(finding_id, None) or ReturnVerdict(new_id(), check.job_id, check.id, finding_id)
            now = replace(
                before,
                proposed=proposal.verdict,
                why=proposal.why,
                before=proposal.before,
                after=proposal.after,
                exceeds=proposal.exceeds,
                pair_id=proposal.pair_id,
            )
            if now != before or before.version == 0:
                work.put(now)
        for gone in known.values():
            work.remove(gone)
    return verdicts_of(desk, check)


def verdicts_of(desk: Desk, check: ReturnCheck) -> tuple[ReturnVerdict, ...]:
    """Return the verdicts in the order of the findings' numbers."""
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=check.job_id)}
    found = [one for one in desk.store.find(ReturnVerdict, check_id=check.id) if one.finding_id in numbers]
    return tuple(sorted(found, key=lambda one: numbers[one.finding_id]))


def confirm_verdict(desk: Desk, verdict: ReturnVerdict, said: str, words: str = "") -> ReturnVerdict:
    """Confirm the proposal, or overrule it; an empty ``said`` takes the confirmation back.

    Raises
    ------
    Refused
        ``return.no_verdict``: no such verdict. ``return.no_words``: it differs from the proposal and nobody said why.
    """
    if said and said not in VERDICTS:
        raise Refused("return.no_verdict", verdict=said)
    now = desk.store.get(ReturnVerdict, verdict.id)
    if said and said != now.proposed and not words.strip():
        raise Refused("return.no_words")
    confirmed = replace(
        now,
        confirmed=said,
        words=words.strip(),
        confirmed_by=desk.person if said else "",
        confirmed_at=utc_now() if said else "",
    )
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(confirmed)


def propose(
    finding: Finding,
    early: tuple[Mark, ...],
    late: tuple[Mark, ...],
    pairs: list[ReturnPair],
    photos: dict[str, Photo],
    changes: tuple[ReturnChange, ...],
) -> Proposal:
    """Propose a verdict for one finding; see the module.

    early, late : its marks on photos of the two occasions
    """
    if not early:
        return Proposal("not seen", (("return.why_no_mark", ()),))
    before = _size(early)
    if late:
        return _by_marks(finding, before, _size(late))
    if finding.kind in NOT_BY_EYE:
        return Proposal("not seen", (("return.why_not_by_eye", ()),), before)
    places = _places(early, pairs, photos)
    if not places:
        return Proposal("not seen", (("return.why_no_pair", ()),), before)
    seen = [(pair, place) for pair, place in places if not place.unseen]
    if not seen:
        return Proposal("not seen", ((f"return.unseen_{places[0][1].unseen}", ()),), before, pair_id=places[0][0].id)
    finest = min((pair for pair, _ in seen), key=lambda pair: _mm_per_px(photos[pair.before_id]))
    here = [place for pair, place in seen if pair.id == finest.id]
    hidden = sum(1 for pair, place in places if pair.id == finest.id and place.unseen)
    grown = tuple(
        one
        for one in changes
        if finding.id in one.touches and one.pair_id == finest.id and not one.reason and one.decision == "open"
    )
    proposal = _by_kind(finding, here, grown, before)
    why = proposal.why + ((("return.why_some_hidden", (("n", str(hidden)),)),) if hidden else ())
    return replace(proposal, why=why, before=proposal.before or before, pair_id=finest.id)


def by_retest(fault: Fault, proposal: Proposal) -> Proposal:
    """What no photo tells is told by the fault's retest."""
    return replace(proposal, verdict=RETESTED[fault.retest], why=(("return.why_retest", (("words", _said(fault)),)),))


def _said(fault: Fault) -> str:
    return fault.retest_words.strip() or say(f"faults.retest_{fault.retest.replace(' ', '_')}")


def _by_kind(
    finding: Finding, places: list[PlaceFound], changes: tuple[ReturnChange, ...], before: Measurement | None
) -> Proposal:
    shares = [place.open_share for place in places if place.open_share is not None]
    if finding.kind in LINES and shares:
        return _line(finding, places, shares, changes)
    if finding.kind in HOLES and any((place.depth_before or 0) > DARK_BORE for place in places):
        return _measured_anew(finding, places, before) or _holes(places)
    return _region(finding, places, changes)


def _line(
    finding: Finding, places: list[PlaceFound], shares: list[float], changes: tuple[ReturnChange, ...]
) -> Proposal:
    share = sum(shares) / len(shares)
    percent = ("percent", f"{100 * share:.0f}")
    if share <= CLOSED:
        return Proposal("repaired", ((f"return.why_closed_{_word(finding)}", ()),))
    if share < STILL_OPEN:
        return Proposal("better", (("return.why_partly_closed", (percent,)),))
    beyond = [one for one in changes if one.lighter < 0]
    if beyond:
        return Proposal("worse", (("return.why_longer", ()),))
    return Proposal("as it was", (("return.why_still_open", (percent,)),))


def _word(finding: Finding) -> str:
    return "gap" if finding.kind == "lifted" else "line"


def _measured_anew(finding: Finding, places: list[PlaceFound], before: Measurement | None) -> Proposal | None:
    """A hole whose place changed and in which the program found a round hole again, by its diameter."""
    if len(places) != 1 or not places[0].changed or before is None or before.quantity != "diameter":
        return None
    after = places[0].size_after
    proposal = _by_marks(finding, before, after) if after is not None else None
    return proposal if proposal is not None and proposal.exceeds else None


def _holes(places: list[PlaceFound]) -> Proposal:
    kept = [
        (place.depth_after or 0.0) / place.depth_before for place in places if (place.depth_before or 0) > DARK_BORE
    ]
    filled = sum(1 for one in kept if one <= FILLED)
    if filled == len(kept):
        return Proposal("repaired", (("return.why_filled", (("n", str(filled)),)),))
    if filled:
        return Proposal("better", (("return.why_some_filled", (("n", str(filled)), ("of", str(len(kept))))),))
    if any(place.changed and not place.reason and place.share > MUCH_OF_IT for place in places):
        after = next((place.size_after for place in places if place.size_after is not None), None)
        return Proposal("not seen", (("return.why_hole_changed", ()),), after=after)
    return Proposal("as it was", (("return.why_holes_open", (("n", str(len(kept))),)),))


def _region(finding: Finding, places: list[PlaceFound], changes: tuple[ReturnChange, ...]) -> Proposal:
    told = [place for place in places if place.changed and not place.reason]
    doubt = [place for place in places if place.changed and place.reason]
    share = max((place.share for place in told), default=0.0)
    percent = ("percent", f"{100 * share:.0f}")
    if share > MUCH_OF_IT:
        verdict = "repaired" if finding.kind in REGIONS and _lost_contrast(told) else "not seen"
        return Proposal(
            verdict, (("return.why_redone" if verdict == "repaired" else "return.why_changed", (percent,)),)
        )
    beside = [one for one in changes if _outside(one, places)]
    if finding.kind in REGIONS and beside:
        return Proposal("worse", (("return.why_spread", ()),))
    if share > LITTLE_OF_IT:
        return Proposal("not seen", (("return.why_changed", (percent,)),))
    if doubt and max(place.share for place in doubt) > MUCH_OF_IT:
        return Proposal("not seen", ((f"compare.reason_{doubt[0].reason}", ()), ("return.why_doubt", ())))
    return Proposal("as it was", (("return.why_no_change", ()),))


def _lost_contrast(places: list[PlaceFound]) -> bool:
    """Whether what stood out of the surface no longer does."""
    pairs = [(abs(p.depth_before), abs(p.depth_after or 0.0)) for p in places if p.depth_before is not None]
    return bool(pairs) and all(after < 0.5 * before for before, after in pairs if before > 2.0)


def _outside(change: ReturnChange, places: list[PlaceFound]) -> bool:
    """Whether most of a change lies beside the finding's places, on the same photo."""
    from condition.flow.return_changes import surface_of

    area = surface_of(change.ring_before_px)
    covered = sum(surface_of(place.ring_before_px).intersection(area).area for place in places)
    return covered < 0.5 * area.area


def _places(
    marks: tuple[Mark, ...], pairs: list[ReturnPair], photos: dict[str, Photo]
) -> list[tuple[ReturnPair, PlaceFound]]:
    ids = {mark.id for mark in marks}
    return [(pair, place) for pair in pairs for place in pair.places if place.mark_id in ids]


def _mm_per_px(photo: Photo) -> float:
    return photo.plane.mm_per_px if photo.plane and photo.plane.mm_per_px else 1e9


def _size(marks: tuple[Mark, ...]) -> Measurement | None:
    """The measurement that decides, from marks of one occasion: counted or added up on each photo, then combined."""
    by_photo: dict[str, list[tuple[Measurement, ...]]] = {}
    for mark in marks:
        if mark.measurements:
            by_photo.setdefault(mark.photo_id, []).append(mark.measurements)
    if not by_photo:
        return None
    combined = combine(tuple(tally(one) for one in by_photo.values()))
    sized = {one.quantity: one for one in reversed(combined)}
    return next((sized[name] for name in SIZES if name in sized), None)


def differs(before: Measurement, after: Measurement) -> bool:
    """Whether two measurements differ by more than their expanded uncertainties together (root of the sum of squares,
    JCGM 100:2008, 5.1.2, for independent values)."""
    if before.bound or after.bound:
        return before.bound is None and after.bound == "below" and before.value - before.expanded > after.value
    return abs(after.value - before.value) > (before.expanded**2 + after.expanded**2) ** 0.5


def _by_marks(finding: Finding, before: Measurement | None, after: Measurement | None) -> Proposal:
    """Told from the marks that a person drew on the later photo."""
    if before is None or after is None or before.quantity != after.quantity:
        return Proposal("not seen", (("return.why_marked_unmeasured", ()),), before, after)
    exceeds = differs(before, after)
    values = (("before", as_text(before)), ("after", as_text(after)))
    if not exceeds:
        return Proposal("as it was", (("return.why_within", values),), before, after, False)
    smaller = after.value < before.value or after.bound == "below"
    if not smaller:
        return Proposal("worse", (("return.why_larger", values),), before, after, True)
    shrinks = finding.kind in (*HOLES, "filled hole") or (finding.kind in LINES and after.value < CLOSED * before.value)
    return Proposal("repaired" if shrinks else "better", (("return.why_smaller", values),), before, after, True)
