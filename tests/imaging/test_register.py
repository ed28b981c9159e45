"""A return photo laid over its intake photo, against homographies known by construction."""

from pathlib import Path

import cv2
import numpy as np
import pairs
import pytest

from condition.errors import Refused
from condition.imaging.overlay import Overlay, laid_over, through
from condition.imaging.register import register


def corner_error(found, true, rgb):
    height, width = rgb.shape[:2]
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], float)
    return float(np.hypot(*(through(found, corners) - through(true, corners)).T).mean())


@pytest.fixture(scope="module")
def cup():
    return pairs.photograph("coffee")


@pytest.mark.parametrize(
    ("roll", "tilt", "scale", "glare"),
    [(4, 3, 1.0, 0), (30, 12, 0.85, 0), (-20, 15, 1.15, 0), (8, 10, 1.05, 3)],
    ids=["roughly as before", "rolled 30 degrees", "tilted 15 degrees", "with glare"],
)
def test_a_photo_from_another_pose_in_other_light_is_laid_over_within_a_third_of_a_pixel(cup, roll, tilt, scale, glare):
    height, width = cup.shape[:2]
    true = pairs.pose(width, height, roll, tilt, scale)
    found = register(cup, pairs.taken_anew(cup, true, seed=5, exposure=0.2, glare=glare))
    assert corner_error(found.homography, true, cup) < 0.33
    assert found.local_px < 0.33


def test_a_photo_of_far_fewer_pixels_goes_with_its_intake_photo(cup):
    height, width = cup.shape[:2]
    true = pairs.pose(width, height, 4, 3, 1.0)
    after = pairs.taken_anew(cup, true, seed=5, exposure=0.2)
    large = cv2.resize(cup, None, fx=3.6, fy=3.6, interpolation=cv2.INTER_CUBIC)
    for before, later, through_px in (
        (large, after, true @ np.diag([1 / 3.6, 1 / 3.6, 1])),
        (cup, large, np.diag([3.6, 3.6, 1])),
    ):
        found = register(before, later)
        assert corner_error(found.homography, through_px, before) < 0.33 * max(1, later.shape[1] / width)


def test_overlap_is_the_share_of_the_intake_photo_that_is_seen(cup):
    width = cup.shape[1]
    shifted = np.array([[1, 0, -0.25 * width], [0, 1, 0], [0, 0, 1]])
    found = register(cup, pairs.seen_through(cup, shifted))
    assert found.overlap == pytest.approx(0.75, abs=0.015)


def test_a_bent_surface_is_followed_by_the_smooth_rest(cup):
    height, width = cup.shape[:2]
    rows, columns = np.mgrid[:height, :width].astype(np.float32)
    bend = 3.0 * ((columns + 0.5) / (width / 2) - 1) ** 3
    after = cv2.remap(cup, columns + bend, rows, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    found = register(cup, after)
    assert found.overlay.field is not None
    assert found.local_px < 0.3 < found.residual_px


def refusal(before, after):
    with pytest.raises(Refused) as refused:
        register(before, after)
    return refused.value.code


def test_a_pair_that_does_not_belong_together_is_refused(cup):
    assert refusal(cup, pairs.photograph("chelsea")) == "compare.unrelated"


def test_a_mirrored_photo_is_told_as_mirrored(cup):
    assert refusal(cup, np.ascontiguousarray(cup[:, ::-1])) == "compare.mirrored"


def test_a_black_photo_is_told_as_black(cup):
    assert refusal(cup, np.zeros_like(cup)) == "compare.dark"
    assert refusal(np.full_like(cup, 7), cup) == "compare.dark"


def test_a_blurred_photo_is_told_as_blurred(cup):
    assert refusal(cup, cv2.GaussianBlur(cup, (0, 0), 12)) == "compare.blurred"


def test_half_out_of_the_frame_is_told(cup):
    height, width = cup.shape[:2]
    shifted = np.array([[1, 0, -0.5 * width], [0, 1, 0], [0, 0, 1]])
    half = cv2.warpPerspective(cup, shifted, (width, height))
    assert refusal(cup, half) == "compare.out_of_frame"


def test_plain_pictures_are_refused_not_guessed():
    grey = np.full((300, 400, 3), 120, np.uint8)
    assert refusal(grey, grey).startswith("compare.")


def test_pixels_count_from_their_corners():
    rgb = np.zeros((40, 60, 3), np.uint8)
    rgb[10, 20] = 255
    moved = Overlay(np.array([[1, 0, 7], [0, 1, 3], [0, 0, 1.0]]), 60, 40)
    after = np.zeros_like(rgb)
    after[13, 27] = 255
    laid, seen = laid_over(after, moved)
    assert (laid == rgb).all()
    assert not seen[38, 20]
    assert moved.to_after(np.array([[20.5, 10.5]])).tolist() == [[27.5, 13.5]]


def test_there_and_back_again_with_a_smooth_rest():
    field = np.zeros((10, 2))
    field[3], field[6] = (4, -2), (1, 3)
    bent = Overlay(np.array([[1.1, 0.1, 5], [-0.1, 0.95, 8], [1e-5, 2e-5, 1]]), 600, 400, field)
    points = np.array([(10.0, 20.0), (300.0, 200.0), (580.0, 390.0)])
    assert bent.to_before(bent.to_after(points)) == pytest.approx(points, abs=1e-3)


def test_two_photos_of_different_things_lit_alike_are_refused(cup):
    assert refusal(cup, pairs.photograph("rocket")) == "compare.unrelated"


def test_another_face_of_the_rendered_instrument_is_refused():
    shown = Path(__file__).parents[2] / "demo_images"
    front, back = (cv2.cvtColor(cv2.imread(str(shown / f"{name}.jpg"), cv2.IMREAD_REDUCED_COLOR_4), cv2.COLOR_BGR2RGB)
                   for name in ("closeup_bridge", "back"))  # fmt: skip
    assert refusal(front, back) == "compare.unrelated"
