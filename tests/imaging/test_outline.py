"""Body outlines drawn over a busy bench, with size cards beside them: the area and the edge are known."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from condition.errors import Refused
from condition.imaging.markers import find_cards
from condition.imaging.outline import outline
from condition.imaging.outline_parts import without_neck
from condition.records.shapes import Ring
from tests.imaging.bench_photo import bench_photo, outline_of
from tests.imaging.crack_set import develop, grain
from tests.imaging.grow_set import overlap, painted

HEIGHT, WIDTH = 900, 1200


def body_photo(seed=0, colour=(0.45, 0.12, 0.05)):
    """A waisted body with a dark plate on it on a wooden bench, one white card in the corner; and its outline."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    radius = 300 * (1 + 0.22 * np.cos(2 * angle) - 0.07 * np.cos(4 * angle) + 0.05 * np.cos(angle))
    ring = np.stack([600 + 1.15 * radius * np.cos(angle), 450 + radius * np.sin(angle)], axis=1)
    mask = painted((HEIGHT, WIDTH), (tuple(map(tuple, ring)),))
    bench = (0.5 + grain(rng, WIDTH)[:HEIGHT])[..., None] * np.array([0.55, 0.56, 0.58])
    linear = np.where(mask[..., None], np.array(colour) * (0.7 + 0.9 * grain(rng, WIDTH)[:HEIGHT, :, None]), bench)
    linear[380:520, 520:760] = 0.03
    linear[40:160, 40:160] = 0.85
    linear[60:140, 60:140] = 0.03
    return develop(np.clip(linear, 0, 1), rng, 0.8, 0.01, 92), ring, mask


CARD = Ring(((60.0, 60.0), (140.0, 60.0), (140.0, 140.0), (60.0, 140.0)))


@pytest.mark.parametrize("seed", [0, 1])
def test_a_body_is_taken_from_the_bench_by_itself_with_what_is_mounted_on_it(seed):
    rgb, ring, mask = body_photo(seed)
    taken = outline(rgb, (CARD,))
    assert overlap(painted(mask.shape, (taken.points,)), mask) > 0.98
    assert Polygon(taken.points).area == pytest.approx(Polygon(ring).area, rel=0.01)
    assert taken.holes == ()


def test_a_hint_is_followed_to_the_edge():
    rgb, ring, mask = body_photo()
    middle = ring.mean(axis=0)
    hint = Ring(tuple(map(tuple, middle + 1.06 * (ring[::20] - middle))))
    taken = outline(rgb, (CARD,), hint)
    assert overlap(painted(mask.shape, (taken.points,)), mask) > 0.98


def test_a_bench_with_nothing_on_it_is_refused():
    with pytest.raises(Refused) as refused:
        outline(np.full((300, 400, 3), 120, np.uint8))
    assert refused.value.code == "assist.no_outline"


@pytest.mark.parametrize(("name", "share"), [("front.jpg", 0.99), ("back.jpg", 0.99), ("return_back.jpg", 0.99)])
def test_the_body_of_a_bench_photo_is_taken_without_its_neck_its_shadow_and_the_tape_beside_it(name, share):
    rgb, _ = bench_photo(name)
    truth = Polygon(outline_of(name)).buffer(0)
    cards = tuple(Ring(card.corners_px) for card in find_cards(rgb))
    taken = Polygon(outline(rgb, cards).points).buffer(0)
    assert taken.intersection(truth).area / taken.union(truth).area > share


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_a_neck_is_cut_at_the_shoulder_from_whichever_side_it_comes_and_horns_beside_it_stay(turns):
    mask = np.zeros((300, 200), bool)
    mask[100:280, 30:170] = True
    mask[60:100, 30:60] = mask[60:100, 140:170] = True
    body = mask.copy()
    mask[:100, 85:115] = True
    assert (np.rot90(without_neck(np.rot90(mask, turns)), -turns) == body).all()
    assert (without_neck(body) == body).all()
