"""Cautions stand where they are needed, each with its sentence and its source."""

from __future__ import annotations

import pytest

from condition.records.legend import KINDS
from condition.trade.cautions import all_cautions, cautions_for
from condition.trade.tables import rows
from condition.words import say

LISTED = {row["code"] for row in rows("parts")}


def codes(**told) -> set[str]:
    return {caution.code for caution in cautions_for(**told)}


@pytest.mark.parametrize("caution", all_cautions(), ids=lambda caution: caution.code)
def test_every_caution_has_title_sentence_and_source(caution):
    for code in (f"caution.{caution.code}", f"caution.title {caution.code}"):
        assert say(code) != code
    assert caution.source.strip()
    assert len(say(f"caution.{caution.code}")) < 240


def test_who_decides_is_said():
    assert "Local rules and licensed practice decide" in say("caution.who decides")


@pytest.mark.parametrize("row", rows("cautions"), ids=lambda row: row["code"])
def test_codes_in_the_table_are_kinds_and_parts_there_are(row):
    assert set(filter(None, row["findings"].split(";"))) <= set(KINDS)
    assert set(filter(None, row["parts"].split(";"))) <= LISTED


@pytest.mark.parametrize(
    ("told", "needs"),
    [
        ({"materials": "celluloid, suspected"}, "celluloid"),  # CCI Notes 15/3
        ({"findings": "finish checking"}, "old lacquer"),  # CCI Notes 15/3
        ({"findings": "refinish"}, "lead in colours"),  # OSHA 29 CFR 1926.62
        ({"findings": "electrical fault"}, "lead in solder"),  # common practice
        ({"treatments": "wax potting of the coil"}, "hot wax"),  # common practice
        ({"parts": "pickups"}, "hot wax"),  # common practice
        ({"parts": "capacitors"}, "oil capacitor"),  # 40 CFR 761.2(a)(4)
        ({"treatments": "Sanding the plugs flush"}, "wood dust"),  # Directive 2004/37/EC, annex III
        ({"materials": "ebony"}, "rosewood and ebony dust"),  # HSE WIS30
        ({"steps": "Strings off, slackened in steps"}, "string tension"),  # common practice
        ({"steps": "opened the amplifier's chassis"}, "mains and stored charge"),  # common practice
        ({"materials": "Brazilian rosewood"}, "woods at borders"),  # CITES, annotation #15 and Appendix I
        ({"materials": "tortoiseshell"}, "shell at borders"),  # CITES Appendix I
        ({"materials": "ivory"}, "ivory at borders"),  # CITES Appendices I and II
    ],
)
def test_what_needs_a_caution_gets_it(told, needs):
    assert needs in codes(**told)


@pytest.mark.parametrize(
    "told",
    [
        {"treatments": "French polish with shellac"},  # no shell in it
        {"materials": "spruce, maple, bone"},
        {"findings": "crack"},
        {"steps": "nut tapped out"},
        {"treatments": "leave"},
        {"parts": ""},
        {"materials": ""},
    ],
)
def test_no_wall_of_text_where_nothing_needs_one(told):
    assert codes(**told) == set()


def test_several_words_at_once_name_a_caution_once():
    assert [c.code for c in cautions_for(parts=["pickguard", "binding"], materials="celluloid")] == ["celluloid"]


def test_a_way_of_asking_that_is_not_there_is_a_defect():
    with pytest.raises(TypeError):
        cautions_for(colours="red")
