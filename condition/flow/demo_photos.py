"""What every area of the demonstration does with its photos: takes them in, says their height, draws on them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.examination import apply
from condition.flow.intake import take_in
from condition.flow.photos import arrange
from condition.flow.scales import set_scale
from condition.records.job import Job
from condition.records.photo import Occasion, Photo

FOLDER = Path(__file__).parent.parent.parent / "demo_images"


def taken_photo(desk: Desk, job: Job, entry: dict, *, occasion: Occasion = "intake", **fields: object) -> Photo:
    """Take one of the demonstration's photos in as its entry says; ``fields`` are kept with the caption."""
    (taken,) = take_in(desk, job, [(entry["file"], FOLDER / entry["file"])], occasion=occasion)
    if taken.photo is None:
        raise taken.error
    photo = arrange(desk, taken.photo, caption=entry.get("caption", ""), **fields)
    if "surface_height_mm" not in entry:
        return photo
    return set_scale(
        desk,
        replace(
            photo,
            surface_height_mm=entry["surface_height_mm"],
            surface_height_sd_mm=entry["surface_height_sd_mm"],
        ),
    )


def drawn(desk: Desk, photo: Photo, mark: dict, kind: str, finding_id: str | None) -> dict:
    """Draw a mark as a hand on the canvas would; return what the examination answers.

    Raises
    ------
    Refused
        ``demo.mark_refused``
    """
    answer = apply(
        desk,
        {
            "op": new_id(),
            "do": "put",
            "version": 0,
            "mark": {
                "id": new_id(),
                "photo_id": photo.id,
                "finding_id": finding_id,
                "kind": kind,
                "shape": mark["shape"],
                "how": mark.get("how", "hand"),
                "pick_sd_px": mark.get("pick_sd_px"),
            },
        },
    )
    if not answer["ok"]:
        raise Refused("demo.mark_refused", file=photo.file_name, why=answer["error"])
    return answer
