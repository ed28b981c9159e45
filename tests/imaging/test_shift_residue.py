"""Shifts of a fraction of a pixel and what they leave, against pictures moved by known amounts."""

import cv2
import numpy as np
import pairs
import pytest
from scipy.ndimage import map_coordinates

from condition.imaging.shift_residue import shifts_of, slopes_of, take_off


@pytest.fixture(scope="module")
def fur():
    return cv2.GaussianBlur(cv2.cvtColor(pairs.photograph("chelsea"), cv2.COLOR_RGB2GRAY).astype(np.float32), (0, 0), 1)


def moved(picture, across, down):
    """The picture moved right and down by (H, W) px, through the cubic spline of scipy.ndimage."""
    rows, columns = np.mgrid[: picture.shape[0], : picture.shape[1]]
    return map_coordinates(picture, (rows - down, columns - across), order=3, mode="reflect")


def taken_apart(one, other, noise=1.0):
    offset = (other - one).astype(np.float32)
    slopes = slopes_of(one)
    shifts = shifts_of(offset, slopes, np.full(one.shape, noise, np.float32), np.ones(one.shape, np.float32))
    rest = offset.copy()
    take_off(rest, slopes, shifts)
    return offset, rest, shifts


def test_a_shift_that_differs_over_the_picture_is_found_and_taken_off(fur):
    columns = np.mgrid[: fur.shape[0], : fur.shape[1]][1] / fur.shape[1]
    other = moved(fur, 0.2 * columns, -0.1 + 0 * columns)
    offset, rest, shifts = taken_apart(fur, other)
    inner = np.s_[20:-20, 20:-20]
    assert rest[inner].std() < 0.2 * offset[inner].std()
    assert np.median(shifts[..., 1]) == pytest.approx(0.1, abs=0.02)
    left, right = (np.median(part[..., 0]) for part in np.array_split(shifts, 2, axis=1))
    assert (left, right) == pytest.approx((-0.05, -0.15), abs=0.02)


def test_a_change_stays(fur):
    rows, columns = np.mgrid[: fur.shape[0], : fur.shape[1]]
    disc = np.hypot(rows - 150, columns - 200) < 6
    _, rest, _ = taken_apart(fur, moved(fur, 0.08, 0.05) + 12 * disc)
    assert rest[disc].mean() == pytest.approx(12, rel=0.1)


def test_where_nothing_has_a_slope_nothing_moves():
    plain = np.full((120, 160), 90, np.float32)
    offset, rest, shifts = taken_apart(plain, plain + 3)
    assert rest == pytest.approx(offset)
    assert shifts == pytest.approx(0, abs=1e-6)
