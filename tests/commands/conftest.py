"""A store with one job in it, small but whole: a photo, a face, a finding, its mark."""

from __future__ import annotations

import io
from dataclasses import replace
from uuid import uuid4

import numpy as np
import pytest
from PIL import Image

from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.shapes import Line
from condition.records.view import View


def jpeg(seed: int, width: int = 400, height: int = 300) -> bytes:
    rng = np.random.default_rng(seed)
    rough = rng.integers(60, 200, size=(height // 20, width // 20, 3), dtype=np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(np.kron(rough, np.ones((20, 20, 1), np.uint8))).save(buffer, "JPEG", quality=85)
    return buffer.getvalue()


@pytest.fixture
def benched(desk, job):
    """The desk with two photos of one name and a finding; the store's folder is ``desk.store.folder``."""
    view = View(str(uuid4()), job.id, "front")
    finding = Finding(str(uuid4()), job.id, 1, "crack", view_id=view.id, place="bass side", observation="Open.")
    with desk.store.write(str(uuid4()), "tester") as work:
        work.put(view)
        for order in range(2):
            sha256 = desk.store.vault.put(jpeg(order))
            photo = Photo(
                str(uuid4()), job.id, sha256, "IMG 0001.jpg", "image/jpeg", 400, 300,
                view_id=view.id, sheet_order=order, taken_in_at="2026-03-02T09:00:00Z",
            )  # fmt: skip
            work.put(photo)
            if order == 0:
                first = photo
        work.put(replace(work.get(View, view.id), base_photo_id=first.id))
        work.put(finding)
        work.put(Mark(str(uuid4()), first.id, finding.id, Line(((20.5, 30.25), (120.125, 44.0)))))
    return desk
