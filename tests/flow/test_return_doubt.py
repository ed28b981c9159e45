"""What is in doubt: the few places that look like damage, the rest told together, counted and settled with one reason.

Invented places; areas by the formula of the square's and the disc's area.
"""

from __future__ import annotations

from dataclasses import replace
from math import isclose

import pytest

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.jobs import open_job
from condition.flow.return_changes import changes_of
from condition.flow.return_check import open_check
from condition.flow.return_doubt import doubt_sorted, is_in_doubt, open_together, settle_together
from condition.records.measurement import Measurement
from condition.records.photo import Photo
from condition.records.return_check import ReturnChange, ReturnPair
from condition.records.shapes import Ring
from condition.store import Store

PHOTO = Photo("before", "job", "0" * 64, "before.jpg", "image/jpeg", 1000, 500)
PAIR = ReturnPair("pair", "job", "check", "before", "after", state="compared", share=0.4)


def square(x: float, y: float, wide: float = 20.0, tall: float | None = None) -> Ring:
    tall = tall or wide
    return Ring(((x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall)))


def place(name: str, ring: Ring, reason: str = "shadow", sd: float = 12.0, **fields: object) -> ReturnChange:
    return ReturnChange(name, "job", "check", "pair", ring, ring, 20.0, sd, reason, **fields)


def sorted_out(*changes: ReturnChange):
    first, groups = doubt_sorted(changes, (PAIR,), {PHOTO.id: PHOTO})
    return [one.id for one in first], {one.cause: one.change_ids for one in groups}, groups


def test_a_clear_compact_place_that_stands_alone_comes_first():
    first, grouped, _ = sorted_out(
        place("alone", square(100, 100)),
        place("weak", square(300, 100), sd=5.0),
        place("streak", square(500, 100, 80, 6)),
        place("border", square(700, 100), "border"),
        place("stronger", square(900, 100), "parallax", sd=30.0),
    )
    assert first == ["stronger", "alone"]
    assert grouped == {"light": ("streak", "weak"), "border": ("border",)}


def test_places_that_crowd_together_are_told_together():
    first, grouped, _ = sorted_out(place("one", square(100, 100)), place("two", square(122, 100)))
    assert first == []
    assert set(grouped["light"]) == {"one", "two"}


def test_every_doubtful_place_is_told_once_and_nothing_else():
    changes = (
        place("alone", square(100, 100)),
        place("thin", square(300, 100), "thin"),
        place("dark", square(500, 100), "dark"),
        place("sure", square(700, 100), ""),
        place("again", square(100, 300), same_as="alone"),
        place("at a finding", square(300, 300), touches=("finding",)),
        place("decided", square(500, 300), decision="dismissed", words="a reflection"),
    )
    first, _, groups = sorted_out(*changes)
    told = [*first, *(one for group in groups for one in group.change_ids)]
    assert sorted(told) == sorted(one.id for one in changes if is_in_doubt(one)) == ["alone", "dark", "thin"]


def test_a_group_tells_how_much_of_what_was_compared_it_is():
    # Two squares of 20 px and one of 10 px, of 1000 x 500 px of which 40 % were compared.
    area = Measurement("area", 4.0, "mm2", 0.2, "photo")
    known = [replace(place(n, square(100, y, w), "border"), area=area) for n, y, w in (("a", 0, 20), ("b", 50, 20),
                                                                                       ("c", 100, 10))]  # fmt: skip
    (group,) = sorted_out(*known)[2]
    assert isclose(group.percent, 100 * (400 + 400 + 100) / 200_000)
    assert isclose(group.area_mm2, 12.0)
    (unscaled,) = sorted_out(known[0], replace(known[1], area=None))[2]
    assert unscaled.area_mm2 is None


@pytest.fixture
def kept(tmp_path):
    """A check with three open doubtful places in the store, the third the second seen on another pair."""
    store = Store.open(tmp_path / "store")
    desk = Desk(store, "tester")
    job = open_job(desk, "R-9", title="Test mandolin")
    check = open_check(desk, job)
    ids = [new_id() for _ in range(3)]
    early, late, pair = (new_id() for _ in range(3))
    with desk.store.write(new_id(), "tester") as work:
        work.put(Photo(early, job.id, "0" * 64, "before.jpg", "image/jpeg", 1000, 500))
        work.put(Photo(late, job.id, "1" * 64, "after.jpg", "image/jpeg", 1000, 500, occasion="returned"))
        work.put(ReturnPair(pair, job.id, check.id, early, late, state="compared"))
        for k, one in enumerate(ids):
            ring = square(100.0 * k, 50)
            work.put(
                ReturnChange(one, job.id, check.id, pair, ring, ring, 20.0, 12.0, "shadow",
                             same_as=ids[1] if k == 2 else "")
            )  # fmt: skip
    yield desk, check, ids
    store.close()


def test_a_group_is_settled_with_one_reason_kept_by_every_place_and_taken_back_in_one_go(kept):
    desk, check, ids = kept
    wanted = [one for one in changes_of(desk, check) if one.id != ids[2]]
    settled = settle_together(desk, wanted, " the lamps stood elsewhere ")
    after = changes_of(desk, check)
    assert sorted(settled) == sorted(ids) == sorted(one.id for one in after)
    assert {(one.decision, one.words, one.decided_by) for one in after} == {
        ("dismissed", "the lamps stood elsewhere", "tester")
    }
    open_together(desk, settled)
    assert {(one.decision, one.words) for one in changes_of(desk, check)} == {("open", "")}


def test_what_is_decided_already_keeps_its_own_reason(kept):
    desk, check, ids = kept
    one, other = (next(c for c in changes_of(desk, check) if c.id == key) for key in ids[:2])
    settle_together(desk, [one], "a dirty lens")
    settle_together(desk, [one, other], "other light")
    words = {c.id: c.words for c in changes_of(desk, check)}
    assert (words[ids[0]], words[ids[1]]) == ("a dirty lens", "other light")


def test_settling_together_wants_a_reason(kept):
    desk, check, _ = kept
    with pytest.raises(Refused, match=r"return\.no_words"):
        settle_together(desk, changes_of(desk, check), "  ")
