"""What to tell beside a finding: what its hole may be, and whether its mark lies where the scale is sure."""

from __future__ import annotations

from condition.flow.desk import Desk
from condition.flow.findings import measurements_of
from condition.flow.measuring import far_outside
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.trade.holes import Candidate, candidates

HOLES = ("screw hole", "enlarged hole", "filled hole")
FAR_OUTSIDE = 0.5
"""Share of the cards' span from which a mark lies far outside them."""


def hole_candidates(desk: Desk, finding: Finding) -> tuple[Candidate, ...]:
    """Return drills, plugs, screws and hardware for the finding's hole; nothing when it is no hole or not measured."""
    if finding.kind not in HOLES:
        return ()
    diameter = next((m for m in measurements_of(desk, finding) if m.quantity == "diameter" and m.bound is None), None)
    return candidates(diameter.value, diameter.expanded) if diameter else ()


def photos_far_outside(desk: Desk, finding: Finding) -> tuple[str, ...]:
    """Return the file names of the photos on which the finding's mark lies far outside the size cards."""
    names = []
    for mark in desk.store.find(Mark, finding_id=finding.id):
        photo = desk.store.get(Photo, mark.photo_id)
        if photo.plane is not None and mark.measurements and far_outside(mark.shape_px, photo.plane) > FAR_OUTSIDE:
            names.append(photo.file_name)
    return tuple(dict.fromkeys(names))
