"""Cracks drawn into scikit-image's textures (see crack_set): the path, its length, its width, and what is refused."""

import numpy as np
import pytest
from skimage.graph import route_through_array

from condition.errors import Refused
from condition.flow.assists import crack_ways
from condition.imaging.crack_ways import LIGHT_IS_PLAINER, NOTHING_PLAIN, packed_ways, usual_costs
from condition.imaging.lightness import lightness_of
from condition.imaging.polyline import smoothed
from condition.imaging.shortest_path import PathTree
from condition.imaging.trace import CrackField, NoPathError, trace, window_about, window_between
from tests.imaging.bench_photo import bench_photo
from tests.imaging.crack_set import SIDE, carve, crack_photo, crack_photos, develop, length_of, share_within, wander


@pytest.fixture(scope="module")
def photos():
    return crack_photos(1)


def path_of(traced):
    return np.array(traced.line.points)


def test_the_cheapest_path_costs_what_scikit_image_says_it_costs():
    rng = np.random.default_rng(3)
    for shape in ((40, 60), (1, 30), (25, 25)):
        cost = rng.uniform(0.05, 1.05, shape).astype(np.float32)
        end = (shape[0] - 1, shape[1] - 1)
        tree = PathTree(cost, (0, 0))
        path, weight = route_through_array(cost, (0, 0), end, fully_connected=True, geometric=True)
        assert tree.cost_to(end) == pytest.approx(weight, rel=1e-5)
        assert tree.path_to(end).tolist() == [list(pixel) for pixel in path]


def test_a_tree_asked_again_gives_what_a_new_one_gives():
    cost = np.random.default_rng(4).uniform(0.1, 1, (50, 50)).astype(np.float32)
    tree = PathTree(cost, (25, 25))
    for pixel in ((26, 26), (49, 0), (0, 49), (26, 27)):
        assert tree.cost_to(pixel) == pytest.approx(PathTree(cost, (25, 25)).cost_to(pixel), rel=1e-6)


def test_no_way_out_of_an_enclosed_place_is_an_empty_path():
    allowed = np.ones((9, 9), bool)
    allowed[3:6, 3:6] = False
    allowed[4, 4] = True
    assert len(PathTree(np.ones((9, 9), np.float32), (4, 4), allowed).path_to((0, 0))) == 0


def test_cracks_are_followed_where_a_straight_line_is_not_enough(photos):
    shares, straight = [], []
    for photo in photos:
        shares.append(share_within(path_of(trace(photo.rgb, photo.ends)), photo.centreline, 2))
        straight.append(share_within(np.array(photo.ends), photo.centreline, 2))
    assert np.median(straight) < 0.3
    assert np.median(shares) >= 0.97


def test_the_median_path_is_no_worse_than_scikit_image_finds_on_lightness(photos):
    ours, theirs = [], []
    for photo in photos:
        ours.append(share_within(path_of(trace(photo.rgb, photo.ends)), photo.centreline, 2))
        (x0, y0), (x1, y1) = photo.ends
        route, _ = route_through_array(lightness_of(photo.rgb) + 1, (int(y0), int(x0)), (int(y1), int(x1)))
        theirs.append(share_within(smoothed(np.array(route)[:, ::-1] + 0.5, 3.0), photo.centreline, 2))
    assert np.median(ours) >= np.median(theirs)
    assert np.mean(ours) >= np.mean(theirs)


def test_a_light_crack_is_told_from_a_dark_one():
    photo = crack_photo("grain", 1, light=True)
    traced = trace(photo.rgb, photo.ends)
    assert traced.tone == "light"
    assert share_within(path_of(traced), photo.centreline, 2) > 0.95


def test_a_click_between_takes_the_other_branch_and_each_leg_can_be_followed_alone():
    photo = crack_photo("table", 2, branched=True)
    middle = tuple(photo.centreline[len(photo.centreline) // 2])
    start, end = photo.ends
    traced = trace(photo.rgb, (start, middle, end))
    assert [leg.points[0] for leg in traced.legs] == [pytest.approx(start), pytest.approx(middle)]
    alone = trace(photo.rgb, (middle, end))
    assert np.allclose(alone.line.points, traced.legs[1].points)


def test_the_length_has_no_staircase_in_it():
    """A straight crack at 22.5 degrees: an 8-connected path alone would be 8 % too long."""
    rng = np.random.default_rng(0)
    linear = np.full((SIDE, SIDE, 3), 0.4)
    ends = np.array([[60.0, 100.0], [360.0, 100 + 300 * np.tan(np.pi / 8)]])
    path = np.linspace(*ends, 1400)
    carve(linear, path, np.full(1400, 3.0), np.full(1400, -1.0))
    traced = trace(develop(linear, rng, 0.8, 0.01, 92), tuple(map(tuple, ends)))
    assert length_of(path_of(traced)) == pytest.approx(length_of(ends), rel=0.003)


@pytest.mark.parametrize(("width", "blur"), [(4, 0.7), (6, 0.7), (8, 1.2), (6, 1.2)])
def test_a_width_from_four_pixels_up_is_read_to_a_sixth_of_a_pixel(width, blur):
    traced = trace(*a_crack_of(width, blur))
    assert not traced.width.bound
    assert traced.width.px == pytest.approx(width, abs=0.16)


@pytest.mark.parametrize(("width", "blur"), [(1, 0.7), (2, 0.7), (1, 1.2), (2, 1.2)])
def test_a_narrow_crack_is_only_said_to_be_narrower_than_a_limit_above_it(width, blur):
    traced = trace(*a_crack_of(width, blur))
    assert traced.width.bound
    assert traced.width.px > width


def a_crack_of(width_px, blur_px):
    rng = np.random.default_rng(5)
    linear = np.full((SIDE, SIDE, 3), 0.35)
    path = wander(rng, np.array([60.0, 100.0]), np.array([360.0, 330.0]), 0.05)
    carve(linear, path, np.full(len(path), float(width_px)), np.full(len(path), -1.2))
    return develop(linear, rng, blur_px, 0.012, 92), (tuple(path[0]), tuple(path[-1]))


def test_a_large_window_searched_at_half_scale_ends_on_the_same_path():
    photo = crack_photo("grain", 3)
    rgb = np.ascontiguousarray(np.pad(photo.rgb, ((500, 500), (500, 500), (0, 0)), mode="symmetric"))
    start, end = ((x + 500, y + 500) for x, y in photo.ends)
    field = CrackField(rgb)
    assert field.scale == 2
    assert share_within(field.leg(start, end).points, photo.centreline + 500, 2) > 0.9


def test_a_kept_field_gives_the_same_leg_however_often_it_was_asked():
    photo = crack_photo("grain", 2)
    start, end = photo.ends
    window = window_about(start, end, photo.rgb.shape)
    asked = CrackField(photo.rgb, window)
    for share in (0.3, 0.6, 0.9):
        asked.leg(start, tuple(photo.centreline[int(share * len(photo.centreline))]))
    assert np.allclose(asked.leg(start, end).points, CrackField(photo.rgb, window).leg(start, end).points)


def test_the_ways_sent_to_a_page_lead_along_the_paths_that_the_tree_finds():
    rng = np.random.default_rng(8)
    dark, light = (PathTree(rng.uniform(0.1, 1, (60, 80)).astype(np.float32), (25, 30)) for _ in range(2))
    steps = packed_ways(dark, light)
    for target in ((0, 0), (59, 79), (25, 31), (10, 70)):
        for tree, shift in ((dark, 0), (light, 3)):
            assert walked_back(steps, shift, (25, 30), target) == [tuple(p) for p in tree.path_to(target).tolist()]
        usual = [
            tree.cost_to(target)
            / usual_costs(tree.everywhere()[0], tree.source)[int(np.hypot(target[0] - 25, target[1] - 30))]
            for tree in (dark, light)
        ]
        assert bool(steps[target] & LIGHT_IS_PLAINER) == (usual[1] < usual[0])
        assert bool(steps[target] & NOTHING_PLAIN) == (min(usual) >= 1)


def walked_back(steps, shift, source, target):
    path = [target]
    while path[-1] != source:
        step = int(steps[path[-1]]) >> shift & 7
        cell = step if step < 4 else step + 1
        path.append((path[-1][0] - (cell // 3 - 1), path[-1][1] - (cell % 3 - 1)))
    return path[::-1]


@pytest.mark.parametrize("light", [False, True])
def test_the_preview_from_a_click_keeps_to_the_crack_in_fine_windows_and_roughly_in_rough_ones(light):
    photo = crack_photo("speckle", 2, light=light)
    first, last = photo.ends
    head = 8 * 4
    for rough, close_px in ((False, 2), (True, 4)):
        told = crack_ways(photo.rgb, first, 2, rough=rough)
        left, top, columns, rows, scale, column, row, _ = np.frombuffer(told[:head], "<i4")
        assert (scale > 1) == rough
        steps = np.frombuffer(told[head:], np.uint8).reshape(rows, columns)
        target = int((last[1] - top) / scale), int((last[0] - left) / scale)
        assert bool(steps[target] & LIGHT_IS_PLAINER) == light
        path = walked_back(steps, 3 if light else 0, (row, column), target)
        points = (np.array(path)[:, ::-1] + 0.5) * scale + (left, top)
        assert share_within(points, photo.centreline, close_px) > 0.85


def test_even_ground_has_nothing_to_follow():
    rng = np.random.default_rng(2)
    rgb = develop(np.full((300, 300, 3), 0.3), rng, 0.8, 0.0, 100)
    with pytest.raises(NoPathError) as refused:
        trace(rgb, ((60, 60), (240, 230)))
    assert refused.value.code == "assist.nothing_to_follow"


@pytest.mark.parametrize(
    ("points", "code"),
    [
        (((10, 10),), "assist.two_points"),
        (((10, 10), (10, 10)), "assist.two_points"),
        (((10, 10), (500, 10)), "assist.point_outside"),
        (((-1, 10), (50, 10)), "assist.point_outside"),
    ],
)
def test_clicks_that_cannot_be_followed_are_refused(points, code):
    with pytest.raises(Refused) as refused:
        trace(np.zeros((100, 100, 3), np.uint8), points)
    assert refused.value.code == code


def test_the_window_stays_in_the_photo():
    assert window_between((5, 5), (95, 20), (100, 200, 3)) == (0, 0, 135, 60)
    assert window_about((5, 5), (95, 20), (100, 200, 3)) == (0, 0, 200, 100)


def test_the_crack_of_a_bench_photo_is_followed_from_end_to_end():
    rgb, findings = bench_photo()
    truth = np.array(findings["top crack"]["path_px"])
    traced = trace(rgb, (tuple(truth[0]), tuple(truth[-1])))
    assert share_within(path_of(traced), truth, 2) > 0.97
    assert length_of(path_of(traced)) == pytest.approx(length_of(truth), rel=0.005)
