"""The shop's own facts."""

from __future__ import annotations

from condition.flow.desk import Desk, new_id
from condition.flow.scales import scale_again
from condition.records.photo import Photo
from condition.records.shop import SHOP_ID, Shop


def shop(desk: Desk) -> Shop:
    return desk.store.one(Shop, id=SHOP_ID) or Shop()


def keep_shop(desk: Desk, edited: Shop) -> Shop:
    """Keep the shop's facts; photos are scaled anew when its print of the size cards measures otherwise."""
    before = shop(desk)
    if edited == before:
        return before
    with desk.store.write(new_id(), desk.person) as work:
        kept = work.put(edited)
    if kept.check_line_mm != before.check_line_mm:
        for photo in desk.store.find(Photo):
            if photo.cards:
                scale_again(desk, photo.id)
    return kept
