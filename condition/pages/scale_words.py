"""What a photo's scale is worth: in a line, in what to do better, and drawn over the photo."""

from __future__ import annotations

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.scale_check import arrows_told, grid_told, unsure_marks
from condition.pages.frame import picture, plain
from condition.records.photo import AdviceLine, Photo
from condition.words import say, say_n

SAID_BETTER = {
    "photo.no_focal": {"scale.advice.no_focal", "scale.advice.no_focal_height"},
    "photo.one_card": {"scale.advice.one_card"},
    "photo.no_card": {"scale.no_card"},
    "photo.cards_unusable": {f"scale.all_{why}" for why in ("mirrored", "twice", "cut", "covered")},
}
"""For a line of the intake's advice the scale's lines of which each says the same and more."""


def scale_line(photo: Photo) -> str:
    """Return such as 'Scale from 4 size cards, 6° tilted, 0.14 mm a pixel, lengths good to ± 0.3 %.'"""
    plane = photo.plane
    if plane is None:
        return plain(say(photo.plane_refusal or "scale_line.none", **dict(photo.plane_refusal_values)))
    used = [card for card in plane.cards if not card.left_out]
    known = "scale_line.bank_card" if plane.kind == "bank card" else "scale_line.known"
    start = say_n("scale_line.cards", len(used)) if plane.kind == "cards" else say(known)
    tilt = "" if plane.tilt_degrees is None else say("scale_line.tilt", degrees=f"{plane.tilt_degrees:.0f}")
    worth = say("scale_line.worth", mm_per_px=f"{plane.mm_per_px:.3f}", percent=f"{100 * plane.relative_expanded:.2f}")
    return f"{start}{tilt}{worth}"


def advice_beside_the_scale(photo: Photo) -> tuple[AdviceLine, ...]:
    """Return what was judged at intake, less what the scale's own lines say better."""
    told = {code for code, _ in photo.plane.advice} if photo.plane else {photo.plane_refusal}
    needless = {"photo.no_card"} if photo.plane else set()
    needless |= {code for code, lines in SAID_BETTER.items() if told & lines}
    return tuple((code, values) for code, values in photo.advice if code not in needless)


def wants_camera_distance(photo: Photo) -> bool:
    """Whether the camera's distance would say what the photo does not: how wide its lens sees."""
    by_bank_card = photo.plane is not None and photo.plane.kind == "bank card"
    return photo.focal_35mm is None and (by_bank_card or any(not card.left_out for card in photo.cards))


def tell_scale(desk: Desk, photo: Photo) -> None:
    """What is known of the scale beside its line: what would make it better, and the marks it does not safely reach."""
    if photo.plane is None:
        return
    for code, values in photo.plane.advice:
        if (code, values) not in photo.advice:
            st.markdown(f"- {plain(say(code, **dict(values)))}")
    unsure = unsure_marks(desk, photo)
    for why in dict.fromkeys(one.why for one in unsure):
        numbers = sorted({one.number for one in unsure if one.why == why})
        named = ", ".join(str(number) if number else say("scale_line.outline") for number in numbers)
        st.warning(plain(say(f"scale_line.{why.replace(' ', '_')}", marks=named)))


@st.dialog(say("scale_line.heading"), width="large")
def show_scale(desk: Desk, photo: Photo) -> None:
    """The photo with grid and arrows over it, and what they say, in a window of its own."""
    factor, longest = arrows_told(photo)
    st.markdown(scale_line(photo))
    st.markdown(picture(f"/bench/scale/{photo.id}.jpg", say("scale_line.picture", file=photo.file_name)))
    step = grid_told(photo)
    st.markdown(f"- {say('scale_line.grid', step=f'{step:g}')}")
    if factor:
        st.markdown(f"- {say('scale_line.arrows', factor=f'{factor:g}', longest=f'{longest:.2f}')}")
    if photo.plane is not None and photo.plane.kind == "cards":
        st.markdown(f"- {say('scale_line.hull')}")
        st.markdown(f"- {say('scale_line.more_cards')}")
    tell_scale(desk, photo)
