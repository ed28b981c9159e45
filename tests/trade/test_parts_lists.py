"""Parts lists fit their kind of instrument: what must and must not be there, common practice."""

from __future__ import annotations

import pytest

from condition.records.instrument import FAMILIES
from condition.trade.parts import GROUPS, list_for, parts_for, parts_source
from condition.trade.tables import rows
from condition.words import say


def codes(family: str) -> set[str]:
    return {part.code for part in parts_for(family)}


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_has_a_list_with_neck_strings_and_case(family):
    assert {"neck", "nut", "bridge", "fingerboard", "strings", "case", "papers"} <= codes(family)
    assert len(codes(family)) == len(parts_for(family))


@pytest.mark.parametrize("row", rows("parts"), ids=lambda row: row["code"])
def test_every_part_has_its_word_and_its_group(row):
    assert say(f"part.{row['code']}") != f"part.{row['code']}"
    assert row["group"] in GROUPS
    assert say(f"parts.group_{row['group']}") != f"parts.group_{row['group']}"
    assert set(row["lists"].split(";")) <= {line["list"] for line in rows("part_lists")}


@pytest.mark.parametrize(
    ("family", "has", "has_not"),
    [
        (
            "solid electric guitar",
            {"body", "pickups", "capacitors", "neck plate and screws"},
            {"top", "braces", "rosette"},
        ),
        ("hollow electric guitar", {"top", "pickups", "bridge foot"}, {"neck plate and screws", "rosette"}),
        ("flat-top guitar", {"bridge pins", "bridge plate", "saddle"}, {"tailpiece", "pickups", "bowl"}),
        ("archtop guitar", {"tailpiece", "bridge foot", "pickguard bracket"}, {"bridge pins", "bridge plate"}),
        ("classical guitar", {"rosette", "saddle"}, {"bridge pins", "truss rod", "tailpiece", "pickguard"}),
        ("electric bass", {"pickups", "machines"}, {"braces", "vibrato"}),
        ("octave mandolin", {"bridge", "tailpiece", "bridge pins", "armrest"}, {"pickups", "head"}),
        ("banjo", {"head", "tone ring", "resonator", "fifth string peg"}, {"top", "braces", "rosette"}),
        ("lute family", {"pegs", "bowl", "rose", "tied frets"}, {"truss rod", "machines", "frets"}),
    ],
)
def test_a_list_fits_its_kind(family, has, has_not):
    """Common practice."""
    assert has <= codes(family)
    assert not has_not & codes(family)


def test_an_unknown_family_gets_the_general_list():
    assert list_for("hurdy-gurdy") == "any"
    assert parts_for("hurdy-gurdy") == parts_for("other")


def test_the_table_names_its_source():
    assert parts_source() == "common practice."
