"""A lens learned from stored photos of the cards, upright and sideways, and what it does to their scale."""

from __future__ import annotations

import math
from uuid import uuid4

import numpy as np
import pytest
from cameras import card_outline, over_bench
from trials import scattered

from condition.errors import Refused
from condition.flow.lenses import cameras, forget_lens, learn_lens
from condition.records.photo import Photo
from condition.records.plane import SizeCard

WIDE, TALL, FOCAL, K1 = 4000, 3000, 3200.0, -0.018
FOCAL_35MM = FOCAL / math.hypot(WIDE, TALL) * math.hypot(36, 24)


def taught(desk, job, sideways: bool, number: int) -> Photo:
    """A photo of six cards by one camera; held sideways, the picture is upright and the cards stand turned in it."""
    rng = np.random.default_rng(number)
    width, height = (TALL, WIDE) if sideways else (WIDE, TALL)
    camera = over_bench(15, 60 * number, 0, 560, FOCAL, width, height, k1=K1)
    places = [place[::-1] if sideways else place for place in scattered(rng, 6, "corners")]
    cards = tuple(
        SizeCard(
            i,
            tuple(
                map(
                    tuple, (camera.shoot(card_outline(*place, rng.uniform(0, 6))) + rng.normal(0, 0.1, (4, 2))).tolist()
                )
            ),
            0.1,
        )
        for i, place in enumerate(places)
    )
    photo = Photo(
        str(uuid4()), job.id, f"{number:064x}", f"{number}.jpg", "image/jpeg", width, height, focal_35mm=FOCAL_35MM,
        camera="Bench box", lens="28 mm", cards=cards,
    )  # fmt: skip
    with desk.store.write(str(uuid4()), desk.person) as work:
        return work.put(photo)


def test_upright_and_sideways_photos_of_one_camera_teach_one_lens(desk, job):
    photos = [taught(desk, job, sideways=number % 2 == 1, number=number) for number in range(4)]
    (camera,) = cameras(desk)
    assert len(camera.photos) == 4
    learned = learn_lens(desk, camera)
    assert learned.photo_count == 4
    assert abs(learned.k1 - K1) < 2.5 * learned.k1_sd < 0.01
    scaled = [desk.store.get(Photo, photo.id) for photo in photos]
    assert {photo.plane.lens for photo in scaled} == {"calibrated"}
    forget_lens(desk, learned)
    assert desk.store.get(Photo, photos[0].id).plane.lens == "from the cards"


def test_one_photo_teaches_no_lens(desk, job):
    taught(desk, job, sideways=False, number=0)
    with pytest.raises(Refused, match=r"scale\.calibration"):
        learn_lens(desk, cameras(desk)[0])
