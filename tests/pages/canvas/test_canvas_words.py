"""Every sentence the canvas can say stands in the catalogue, and none stands there unsaid."""

from __future__ import annotations

import re

from condition.pages.canvas import FOLDER, SCRIPTS, canvas_legend, canvas_words
from condition.records.legend import KINDS

SCRIPT = "\n".join((FOLDER / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)
MADE_UP = (
    r"(do|short|now|hint|variant|shape|key|keys|move|nothing|removed|unsaved)_\w+",
    r"\w+_(px|mm)",
    r"(un|re)done",
    r"mark_says\w*",
)
"""Names put together in the script."""

ROUTES = (r"gate_\w+", "line_not_across", "rings_apart", "unknown_id", "no_tile", "bad_assist", r"kind\..+")


def test_every_script_is_joined_and_none_is_left_over():
    assert {path.stem for path in FOLDER.glob("*.js")} == set(SCRIPTS)


def test_every_sentence_asked_for_by_name_is_there():
    asked = set(re.findall(r'(?:words|say|tell|whisper)\("(\w+)"', SCRIPT))
    asked |= set(re.findall(r'sayText\([^"]*"(\w+)"', SCRIPT))
    assert asked - set(canvas_words()) == set()


def test_every_action_has_a_label_and_every_tool_its_hint_and_short_name():
    words = canvas_words()
    actions = re.findall(r'\{ name: "(\w+)"', SCRIPT)
    modes = re.search(r"const MODES = \[(.*?)\]", SCRIPT).group(1).replace('"', "").split(", ")
    assert len(actions) > 30
    for name in [*actions, *modes]:
        assert f"do_{name}" in words
    for mode in modes:
        assert f"short_{mode}" in words
    for key in re.search(r"const MOVES = \[(.*?)\]", SCRIPT).group(1).replace('"', "").split(", "):
        assert {f"key_{key}", f"move_{key}"} <= set(words)


def test_no_sentence_is_left_unsaid():
    def unsaid(name: str) -> bool:
        return f'"{name}"' not in SCRIPT and not any(re.fullmatch(each, name) for each in (*MADE_UP, *ROUTES))

    assert [name for name in canvas_words() if unsaid(name)] == []


def test_every_kind_is_in_the_legend_with_a_name_and_a_symbol_of_its_own():
    legend = [entry for entry in canvas_legend() if not entry["hidden"]]
    assert [entry["kind"] for entry in legend] == list(KINDS)
    assert all(entry["label"] and not entry["label"].startswith("kind.") for entry in legend)
    assert len({(entry["lines"], entry["areas"]) for entry in legend}) == len(KINDS)


def test_no_user_text_is_set_as_markup():
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write", SCRIPT)


def test_nothing_is_fetched_from_elsewhere():
    addresses = set(re.findall(r'https?://[^\s"`]+', SCRIPT + (FOLDER / "canvas.css").read_text(encoding="utf-8")))
    assert addresses == {"http://www.w3.org/2000/svg"}
