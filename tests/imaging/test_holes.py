"""Holes drawn in linear light (see hole_set), and the 24 coins of scikit-image."""

import numpy as np
import pytest
from skimage import data

from condition.errors import Refused
from condition.imaging.holes import find_holes
from tests.imaging.grow_set import coins
from tests.imaging.hole_set import hole_photo, matched


def found_in(photo, band=None, **options):
    height, width = photo.rgb.shape[:2]
    holes = find_holes(photo.rgb, (0, 0, width, height), band, **options)
    return holes, np.array([(hole.x, hole.y, hole.diameter_px / 2) for hole in holes]).reshape(-1, 3)


@pytest.mark.parametrize("ground", ["wood", "rough"])
@pytest.mark.parametrize("radii", [(3, 6), (6, 12), (12, 30)])
def test_holes_of_unknown_size_are_found_and_nothing_else(ground, radii):
    true = right = false = 0
    for seed in range(2):
        photo = hole_photo(ground, seed, radii)
        holes, found = found_in(photo)
        pairs = matched(found, photo.holes)
        true, right, false = true + len(photo.holes), right + len(pairs), false + len(holes) - len(pairs)
    assert right / true >= 0.95
    assert right / (right + false) >= 0.95


@pytest.mark.parametrize("ground", ["wood", "rough"])
def test_diameters_are_good_to_a_third_of_a_pixel_in_the_median(ground):
    errors = []
    for radii in ((3, 6), (6, 12), (12, 30)):
        photo = hole_photo(ground, 1, radii)
        _, found = found_in(photo)
        errors += [abs(2 * found[i, 2] - 2 * photo.holes[j, 2]) for i, j in matched(found, photo.holes)]
    assert np.median(errors) <= 0.3


def test_bright_discs_are_found_when_asked_for():
    photo = hole_photo("wood", 2, (6, 12), light=True)
    _, found = found_in(photo, bright=True)
    assert len(matched(found, photo.holes)) == len(photo.holes) == len(found)
    assert len(matched(found_in(photo)[1], photo.holes)) == 0


@pytest.mark.parametrize("band", [None, (15, 35)])
def test_the_24_coins_are_found_with_and_without_their_size(band):
    """Truth: the 24 labels of the package's own tutorial, as discs of the same area."""
    picture = np.repeat(data.coins()[..., None], 3, axis=2)
    truth = np.array([(*centre_of(coin.mask), np.sqrt(coin.mask.sum() / np.pi)) for coin in coins()])
    assert len(truth) == 24
    holes = find_holes(picture, (0, 0, picture.shape[1], picture.shape[0]), band, bright=True)
    sure = np.array([(hole.x, hole.y, hole.diameter_px / 2) for hole in holes if hole.sure])
    assert len(matched(sure, truth)) == 24 == len(sure)


def centre_of(mask):
    rows, columns = np.nonzero(mask)
    return columns.mean() + 0.5, rows.mean() + 0.5


def test_a_hole_below_three_pixels_is_a_proposal_and_says_so():
    photo = hole_photo("rough", 1, (1.5, 3))
    holes, found = found_in(photo)
    pairs = matched(found, photo.holes)
    assert pairs
    assert not any(holes[i].sure for i, j in pairs if holes[i].diameter_px < 6)


def test_only_holes_with_their_middle_in_the_box_are_proposed():
    photo = hole_photo("rough", 1, (6, 12))
    x, y, radius = photo.holes[0]
    box = (x - 0.5 * radius - 6, y - 0.5 * radius - 6, radius + 12, radius + 12)
    (hole,) = find_holes(photo.rgb, box, (0.8 * radius, 1.2 * radius))
    assert (hole.x, hole.y) == (pytest.approx(x, abs=0.3), pytest.approx(y, abs=0.3))
    assert hole.diameter_px == pytest.approx(2 * radius, abs=0.6)


def test_places_count_from_the_photos_corner_wherever_the_box_lies():
    photo = hole_photo("wood", 1, (6, 12))
    shifted = np.pad(photo.rgb, ((31, 0), (17, 0), (0, 0)), mode="edge")
    height, width = photo.rgb.shape[:2]
    first = find_holes(photo.rgb, (10, 10, width - 20, height - 20))
    second = find_holes(shifted, (27, 41, width - 20, height - 20))
    pairs = matched(
        np.array([(h.x + 17, h.y + 31, h.diameter_px / 2) for h in first]),
        np.array([(h.x, h.y, h.diameter_px / 2) for h in second]),
    )
    assert len(pairs) == len(first)
    for i, j in pairs:
        assert second[j].x - first[i].x == pytest.approx(17, abs=0.1)
        assert second[j].y - first[i].y == pytest.approx(31, abs=0.1)


def test_an_empty_surface_has_no_sure_hole():
    photo = hole_photo("wood", 3, (6, 12), count=0, side=240)
    assert not any(hole.sure for hole in find_holes(photo.rgb, (0, 0, 240, 240)))
    assert find_holes(np.full((80, 80, 3), 120, np.uint8), (0, 0, 80, 80)) == ()


@pytest.mark.parametrize("box", [(500, 0, 50, 50), (0, 0, 4, 50), (95, 95, 50, 50)])
def test_a_box_without_photo_in_it_is_refused(box):
    with pytest.raises(Refused) as refused:
        find_holes(np.zeros((100, 100, 3), np.uint8), box)
    assert refused.value.code == "assist.box_too_small"
