"""Cards that lie in several planes: which of them a photo's scale goes by."""

from __future__ import annotations

from functools import partial

import streamlit as st

from condition.flow.desk import Desk
from condition.flow.scales import cards_to_go_by, go_by_cards
from condition.pages.frame import told
from condition.records.photo import Photo
from condition.records.plane import OTHER_PLANE
from condition.words import say


def in_several_planes(photo: Photo) -> bool:
    """Whether there is a choice to make: no one plane holds all the photo's cards, or one was made already."""
    placed = photo.plane.cards if photo.plane else ()
    return (
        photo.plane_refusal in ("scale.not_one_plane", "scale.all_set_aside")
        or not all(cards_to_go_by(photo).values())
        or any(card.left_out == OTHER_PLANE for card in placed)
    )


def choose_cards(desk: Desk, photo: Photo) -> None:
    """Let the person say which cards lie on the part that is measured."""
    cards = cards_to_go_by(photo)
    st.pills(
        say("photos.go_by"),
        list(cards),
        selection_mode="multi",
        default=[card for card, used in cards.items() if used],
        help=say("photos.go_by_help"),
        key=f"cards-{photo.id}",
        on_change=partial(_go_by, desk, photo),
    )


def _go_by(desk: Desk, photo: Photo) -> None:
    with told():
        go_by_cards(desk, photo, st.session_state[f"cards-{photo.id}"])
