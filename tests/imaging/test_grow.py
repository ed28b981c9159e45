"""Losses composed of real textures and the 24 coins of scikit-image, both with pixel masks (see grow_set)."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from condition.errors import Refused
from condition.imaging.contours import signed_area, zero_rings
from condition.imaging.grow import grow_from_point, grow_from_ring
from condition.records.shapes import Ring
from tests.imaging.bench_photo import bench_photo
from tests.imaging.crack_set import develop
from tests.imaging.grow_set import coins, overlap, painted, rough_loop, worn_finish


@pytest.fixture(scope="module")
def photos():
    return [*(worn_finish(seed) for seed in range(5)), *coins()[::5]]


def mask_of(photo, grown):
    return painted(photo.mask.shape, (grown.ring.points, *grown.ring.holes))


def test_a_loop_snaps_to_the_region_and_never_ends_worse_than_it_was_drawn(photos):
    drawn, snapped = [], []
    for number, photo in enumerate(photos):
        loop = rough_loop(photo, number)
        drawn.append(overlap(painted(photo.mask.shape, (loop,)), photo.mask))
        snapped.append(overlap(mask_of(photo, grow_from_ring(photo.rgb, Ring(loop))), photo.mask))
    assert np.median(drawn) < 0.7
    assert np.median(snapped) >= 0.90
    assert all(after > before for before, after in zip(drawn, snapped, strict=True))


def test_one_click_fills_the_region(photos):
    assert np.median([overlap(mask_of(p, grow_from_point(p.rgb, p.deepest)), p.mask) for p in photos]) >= 0.88


def test_more_is_never_less_along_the_slider():
    photo = worn_finish(1)
    for grown in (grow_from_point(photo.rgb, photo.deepest), grow_from_ring(photo.rgb, Ring(rough_loop(photo)))):
        areas = [area for _, area in grown.sweep]
        assert areas == sorted(areas)
        assert areas[0] < areas[-1]
        assert grown.amount == 0.5


def test_the_slider_moves_the_ring():
    photo = worn_finish(1)
    loop = Ring(rough_loop(photo))
    small, own, large = (grow_from_ring(photo.rgb, loop, amount).area_px2 for amount in (0.1, 0.5, 0.9))
    assert small <= own <= large
    assert small < large
    assert own == grow_from_ring(photo.rgb, loop).area_px2


def test_the_edge_is_found_at_full_size_where_the_colour_is_half_way():
    """A soft-edged disc 900 px wide, so that the search itself runs at reduced scale: area pi r^2."""
    rows, columns = np.mgrid[0:1200, 0:1200] + 0.5
    distance = np.hypot(columns - 610.3, rows - 588.8) - 450
    cover = 1 / (1 + np.exp(np.clip(distance / 1.5, -50, 50)))[..., None]
    linear = cover * np.array([0.45, 0.32, 0.18]) + (1 - cover) * np.array([0.25, 0.05, 0.04])
    rgb = develop(linear, np.random.default_rng(1), 0.8, 0.01, 92)
    grown = grow_from_point(rgb, (600, 600))
    assert grown.area_px2 == pytest.approx(np.pi * 450**2, rel=0.001)
    assert grown.area_px2 == pytest.approx(Polygon(grown.ring.points).area, rel=1e-6)
    radii = np.hypot(*(np.array(grown.ring.points) - (610.3, 588.8)).T)
    assert np.abs(radii - 450).max() < 1.0


def test_an_island_in_a_loss_is_a_hole_of_its_ring():
    rows, columns = np.mgrid[0:400, 0:400] + 0.5
    distance = np.hypot(columns - 200, rows - 200)
    bare = ((distance < 150) & (distance > 50))[..., None]
    linear = np.where(bare, np.array([0.45, 0.32, 0.18]), np.array([0.25, 0.05, 0.04]))
    rgb = develop(linear, np.random.default_rng(1), 0.8, 0.01, 92)
    grown = grow_from_point(rgb, (300, 200))
    assert len(grown.ring.holes) == 1
    assert grown.area_px2 == pytest.approx(np.pi * (150**2 - 50**2), rel=0.005)


def test_add_and_take_away_clicks_move_the_border():
    """Three patches side by side, the middle one between the others in colour."""
    linear = np.empty((240, 360, 3))
    linear[:, :120], linear[:, 120:240], linear[:, 240:] = (0.5, 0.4, 0.25), (0.40, 0.30, 0.17), (0.05, 0.04, 0.04)
    rgb = develop(linear, np.random.default_rng(1), 0.8, 0.01, 92)
    one = grow_from_point(rgb, (60, 120), away=((180, 120),))
    both = grow_from_point(rgb, (60, 120), add=((180, 120),))
    assert one.area_px2 == pytest.approx(120 * 240, rel=0.03)
    assert both.area_px2 == pytest.approx(240 * 240, rel=0.03)


def test_a_vague_edge_says_that_it_is_vaguer():
    rows, columns = np.mgrid[0:400, 0:400] + 0.5
    distance = np.hypot(columns - 200, rows - 200) - 100
    told = []
    for soft in (1, 12):
        cover = 1 / (1 + np.exp(np.clip(distance / soft, -50, 50)))[..., None]
        linear = cover * np.array([0.45, 0.32, 0.18]) + (1 - cover) * np.array([0.25, 0.05, 0.04])
        told.append(grow_from_point(develop(linear, np.random.default_rng(1), 0.8, 0.01, 92), (200, 200)))
    assert told[0].softness_px2 < told[1].softness_px2
    assert told[0].edge_sd_px < told[1].edge_sd_px


def test_contours_hold_the_area_of_what_they_surround():
    rows, columns = np.mgrid[0:200, 0:300] + 0.5
    distance = np.hypot(columns - 150, rows - 90)
    rings = zero_rings(np.minimum(50 - distance, distance - 20))
    assert sum(map(signed_area, rings)) == pytest.approx(np.pi * (50**2 - 20**2), rel=2e-4)
    assert [signed_area(ring) > 0 for ring in sorted(rings, key=len)] == [False, True]


@pytest.mark.parametrize("point", [(-1, 5), (5, 101)])
def test_a_click_outside_the_photo_is_refused(point):
    with pytest.raises(Refused) as refused:
        grow_from_point(np.zeros((100, 100, 3), np.uint8), point)
    assert refused.value.code == "assist.point_outside"


def test_a_photo_of_one_colour_has_nothing_to_grow():
    with pytest.raises(Refused) as refused:
        grow_from_point(np.full((100, 100, 3), 90, np.uint8), (50, 50))
    assert refused.value.code == "assist.nothing_to_grow"


def test_a_loop_too_small_or_off_the_photo_is_refused():
    rgb = np.zeros((100, 100, 3), np.uint8)
    with pytest.raises(Refused) as refused:
        grow_from_ring(rgb, Ring(((5, 5), (7, 5), (6, 7))))
    assert refused.value.code == "assist.ring_too_small"
    with pytest.raises(Refused) as refused:
        grow_from_ring(rgb, Ring(((500, 500), (700, 500), (600, 700))))
    assert refused.value.code == "assist.point_outside"


def test_a_click_on_a_loss_of_a_bench_photo_takes_the_loss_and_not_the_instrument():
    rgb, findings = bench_photo()
    loss = Polygon(findings["arm wear"]["parts_px"][0][0])
    place = loss.representative_point()
    grown = grow_from_point(rgb, (place.x, place.y))
    found = Polygon(grown.ring.points).buffer(0)
    assert found.intersection(loss).area / found.union(loss).area > 0.9
