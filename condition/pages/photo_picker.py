"""One of the job's photos, picked by its picture."""

from __future__ import annotations

import streamlit as st

from condition.flow.desk import Desk
from condition.pages.frame import picture
from condition.records.job import Job
from condition.records.photo import Photo
from condition.words import say

ACROSS = 3


def pick_photo(desk: Desk, job: Job, chosen: str | None, key: str) -> str | None:
    """Show the job's photos with a button each, those of the strip-down first; return the chosen one's id."""
    photos = desk.store.find(Photo, job_id=job.id)
    photos = sorted(photos, key=lambda photo: photo.occasion != "strip-down")
    if not photos:
        st.caption(say("parts.no_photos"))
        return chosen
    if chosen and st.button(say("parts.no_photo"), key=f"none-{key}"):
        return None
    for first in range(0, len(photos), ACROSS):
        for column, photo in zip(st.columns(ACROSS), photos[first : first + ACROSS], strict=False):
            with column:
                st.markdown(picture(f"/bench/thumb/{photo.id}", photo.caption or photo.file_name))
                words = say("parts.picked") if photo.id == chosen else say("parts.pick")
                if st.button(words, key=f"pick-{key}-{photo.id}", disabled=photo.id == chosen, width="stretch"):
                    return photo.id
    return chosen
