import re
from pathlib import Path

import polib

import condition.store
from condition.words import FOLDER

PACKAGE = Path(condition.store.__file__).parent
CODE = re.compile(r"""["'](store\.[a-z_]+)["']""")


def test_every_code_of_the_store_has_its_sentence_and_every_sentence_its_use():
    modules = [*PACKAGE.rglob("*.py"), *(PACKAGE.parent / "commands").glob("*.py"), *PACKAGE.parent.glob("flow/*.py")]
    used = {code for module in modules for code in CODE.findall(module.read_text(encoding="utf-8"))}
    assert used == {entry.msgid for entry in polib.pofile(str(FOLDER / "en" / "store.po"))}


def test_every_sentence_is_one_that_says_what_to_do():
    for entry in polib.pofile(str(FOLDER / "en" / "store.po")):
        for sentence in entry.msgstr_plural.values() if entry.msgid_plural else (entry.msgstr,):
            assert "\n" not in sentence
            assert entry.msgid.startswith("store.help_") or sentence.endswith(".")
