"""What a photo's scale is worth, in a line."""

from __future__ import annotations

from condition.records.photo import Photo
from condition.words import say, say_n


def scale_line(photo: Photo) -> str:
    """Return such as 'Scale from 4 size cards, 6° tilted, 0.14 mm a pixel, lengths good to ± 0.3 %.'"""
    plane = photo.plane
    if plane is None:
        return say(photo.plane_refusal or "scale_line.none")
    used = [card for card in plane.cards if not card.left_out]
    start = say_n("scale_line.cards", len(used)) if plane.kind == "cards" else say("scale_line.known")
    tilt = "" if plane.tilt_degrees is None else say("scale_line.tilt", degrees=f"{plane.tilt_degrees:.0f}")
    worth = say("scale_line.worth", mm_per_px=f"{plane.mm_per_px:.3f}", percent=f"{100 * plane.relative_expanded:.2f}")
    return f"{start}{tilt}{worth}"
