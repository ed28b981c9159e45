"""A photo's scale: from its size cards, else from a known distance, else none, with the reason."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.marked import BANK_CARD, KNOWN_DISTANCE, measure_again
from condition.flow.pixels import pixels_of
from condition.imaging.bank_card import refined_bank_card
from condition.imaging.plane import homography
from condition.imaging.plane_from_cards import plane_from_bank_card, plane_from_cards
from condition.imaging.plane_from_distance import plane_from_known_distance
from condition.records.lens import Lens
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.plane import SET_ASIDE, PhotoPlane
from condition.records.shapes import Line, Ring
from condition.records.shop import SHOP_ID, Shop


def scaled(desk: Desk, photo: Photo) -> Photo:
    """Return the photo with the plane its cards, or its known distance, give now."""
    try:
        return replace(photo, plane=_plane(desk, photo), plane_refusal="", plane_refusal_values=())
    except Refused as refusal:
        return replace(photo, plane=None, plane_refusal=refusal.code, plane_refusal_values=refusal.named)


def set_scale(desk: Desk, photo: Photo) -> Photo:
    """Keep a photo whose height, distance or known length was edited; its plane and all its marks follow."""
    with desk.store.write(new_id(), desk.person) as work:
        kept = work.put(scaled(desk, photo))
    measure_again(desk, kept.id)
    return kept


def go_by_cards(desk: Desk, photo: Photo, ids: Collection[int]) -> Photo:
    """Find the photo's plane by these of its cards alone, for cards that do not lie in one plane."""
    cards = tuple(
        replace(card, left_out="" if card.id in ids else SET_ASIDE) if card.left_out in ("", SET_ASIDE) else card
        for card in photo.cards
    )
    return set_scale(desk, replace(photo, cards=cards))


def cards_to_go_by(photo: Photo) -> dict[int, bool]:
    """Return the ids of the cards that a scale can go by, and whether this photo's does."""
    return {card.id: not card.left_out for card in photo.cards if card.left_out in ("", SET_ASIDE)}


def scale_again(desk: Desk, photo_id: str) -> Photo:
    """Find the photo's plane anew, after its known distance was drawn or the shop's print was measured."""
    return set_scale(desk, desk.store.get(Photo, photo_id))


def _plane(desk: Desk, photo: Photo):
    shop = desk.store.one(Shop, id=SHOP_ID)
    if photo.cards:
        lens = desk.store.one(Lens, camera=photo.camera, lens=photo.lens) if photo.camera else None
        return plane_from_cards(
            photo.cards,
            photo.width,
            photo.height,
            photo.focal_35mm,
            surface_height_mm=photo.surface_height_mm,
            surface_height_sd_mm=photo.surface_height_sd_mm if photo.surface_height_mm else None,
            check_line_mm=shop.check_line_mm if shop else None,
            camera_distance_mm=photo.camera_distance_mm,
            known_lens=(lens.k1, lens.k1_sd) if lens else None,
        )
    bank_cards = desk.store.find(Mark, photo_id=photo.id, role=BANK_CARD)
    if bank_cards:
        return _bank_card_plane(desk, photo, bank_cards[0])
    marks = desk.store.find(Mark, photo_id=photo.id, role=KNOWN_DISTANCE)
    if not marks or photo.known_distance_mm is None:
        raise Refused("scale.no_card")
    line = marks[0].shape_px
    assert isinstance(line, Line)
    return plane_from_known_distance(
        line.points[0],
        line.points[-1],
        photo.known_distance_mm,
        photo.known_distance_sd_mm,
        photo.width,
        photo.height,
        photo.focal_35mm,
    )


def _bank_card_plane(desk: Desk, photo: Photo, mark: Mark) -> PhotoPlane:
    """The plane of a bank card whose sides are looked for in the photo near the four points set by hand."""
    shape = mark.shape_px
    assert isinstance(shape, Ring)
    corners, accuracy = shape.points, {}
    seen = refined_bank_card(pixels_of(desk, photo), np.array(corners)) if len(corners) == 4 else None
    if seen is not None:
        corners, accuracy = seen.corners_px, {"pick_sd_px": seen.sd_px}
    plane = plane_from_bank_card(
        corners,
        photo.width,
        photo.height,
        photo.focal_35mm,
        camera_distance_mm=photo.camera_distance_mm,
        **accuracy,
    )
    code = "scale.advice.bank_card_fitted" if seen is not None else "scale.advice.bank_card_by_hand"
    return replace(plane, advice=((code, ()), *plane.advice))


def plane_summary(photo: Photo) -> dict | None:
    """Return what the canvas needs for its grid and scale bar: mm a pixel and the plane's homography, mm to px."""
    if photo.plane is None:
        return None
    return {"mm_per_px": photo.plane.mm_per_px, "homography": homography(photo.plane).tolist()}
