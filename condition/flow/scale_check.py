"""What a person can see of a photo's scale: grid, arrows, and the marks that lie where it is unsure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from condition.errors import Refused
from condition.flow.advice import FAR_OUTSIDE
from condition.flow.desk import Desk
from condition.flow.marked import SCALES
from condition.flow.measuring import far_outside, points_of
from condition.flow.pixels import pixels_of
from condition.imaging.plane_picture import ScalePicture, scale_picture
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.plane import OTHER_PLANE, SET_ASIDE, PhotoPlane
from condition.records.shapes import Shape


@dataclass(frozen=True, slots=True)
class Unsure:
    """A mark whose ± may be too small: ``why`` is ``far outside`` the cards, or ``off the plane``: it lies nearer to a
    card that leans out of the others' plane than to any of them. number : of its finding, 0 for none"""

    number: int
    why: str
    mark: Mark


def off_the_plane(shape_px: Shape, plane: PhotoPlane) -> bool:
    """Whether a mark lies nearer to a card that was left out as lying in another plane than to any card used."""
    points = np.array(points_of(shape_px), float)

    def nearest(cards) -> float:
        corners = [np.array(card.corners_px).mean(0) for card in cards]
        return min((float(np.hypot(*(points - middle).T).min()) for middle in corners), default=float("inf"))

    leaning = nearest(card for card in plane.cards if card.left_out in (OTHER_PLANE, SET_ASIDE))
    return leaning < nearest(card for card in plane.cards if not card.left_out)


def unsure_marks(desk: Desk, photo: Photo) -> tuple[Unsure, ...]:
    """Return the photo's marks that the scale does not safely reach."""
    if photo.plane is None:
        return ()
    numbers = {finding.id: finding.number for finding in desk.store.find(Finding, job_id=photo.job_id)}
    found = []
    for mark in desk.store.find(Mark, photo_id=photo.id):
        if mark.role in SCALES:
            continue
        if off_the_plane(mark.shape_px, photo.plane):
            found.append(Unsure(numbers.get(mark.finding_id, 0), "off the plane", mark))
        elif far_outside(mark.shape_px, photo.plane) > FAR_OUTSIDE:
            found.append(Unsure(numbers.get(mark.finding_id, 0), "far outside", mark))
    return tuple(found)


def photos_off_the_plane(desk: Desk, finding: Finding) -> tuple[str, ...]:
    """Return the file names of the photos on which the finding's mark lies by a card of another plane."""
    names = []
    for mark in desk.store.find(Mark, finding_id=finding.id):
        photo = desk.store.get(Photo, mark.photo_id)
        if photo.plane is not None and mark.measurements and off_the_plane(mark.shape_px, photo.plane):
            names.append(photo.file_name)
    return tuple(dict.fromkeys(names))


def scale_shown(desk: Desk, photo: Photo) -> ScalePicture:
    """Return the photo with its scale drawn over it.

    Raises
    ------
    Refused
        The photo has no plane.
    """
    if photo.plane is None:
        raise Refused(photo.plane_refusal or "scale.no_card", **dict(photo.plane_refusal_values))
    unsure = [points_of(one.mark.shape_px) for one in unsure_marks(desk, photo)]
    return scale_picture(pixels_of(desk, photo), photo.plane, unsure)


def arrows_told(photo: Photo) -> tuple[float, float]:
    """Return (how often the picture's arrows are enlarged, the longest residual in px), as it will be drawn."""
    from condition.imaging.plane_picture import LONGEST_PX, arrow_factor

    if photo.plane is None:
        return 0.0, 0.0
    longest = max((float(np.hypot(*left)) for card in photo.plane.cards for left in card.residuals_px), default=0.0)
    return arrow_factor(longest, min(1.0, LONGEST_PX / max(photo.width, photo.height))), longest


def grid_told(photo: Photo) -> float:
    """Return the step of the picture's grid in mm, as it will be drawn."""
    from condition.imaging.plane_picture import LONGEST_PX, grid_step_mm

    if photo.plane is None:
        return 0.0
    return grid_step_mm(photo.plane.mm_per_px, min(1.0, LONGEST_PX / max(photo.width, photo.height)))
