"""Every sentence is in the catalogue, and every code used has one."""

import re
import string

import polib
import pytest

from condition.records.legend import KINDS
from condition.words import FOLDER, say, say_n

CODE = re.compile(r"""(?:(?:say|say_n|Refused|Damaged)\(|Problem\([^,()]+,)\s*f?["']([a-z_]+\.[a-z_0-9 ]+)["']""")
MODULES = [path for path in (FOLDER.parent).rglob("*.py") if "words" not in path.parts]


def entries():
    return [entry for po in sorted((FOLDER / "en").glob("*.po")) for entry in polib.pofile(str(po))]


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(FOLDER.parent)))
def test_every_code_used_has_its_sentence(module):
    known = {entry.msgid for entry in entries()}
    missing = {code for code in CODE.findall(module.read_text(encoding="utf-8"))} - known
    assert not missing


def test_no_sentence_is_empty_or_broken():
    for entry in entries():
        texts = list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]
        for text in texts:
            assert text.strip(), entry.msgid
            list(string.Formatter().parse(text))


def test_every_kind_of_finding_has_its_word():
    assert all(say(f"kind.{kind}") != f"kind.{kind}" for kind in KINDS)


def test_numbers_of_things_are_said_right():
    assert say_n("page.photos", 1) == "1 photo"
    assert say_n("page.photos", 3) == "3 photos"


def test_an_unknown_code_comes_back_as_itself():
    assert say("page.nowhere_at_all") == "page.nowhere_at_all"
