"""A page that fails says so in one plain sentence and offers no way out of the shop."""

from __future__ import annotations

from streamlit.testing.v1 import AppTest

from condition.pages import board
from condition.words import say
from tests.browser import ROOT


def test_a_page_that_fails_says_so_and_keeps_its_reason_for_the_log(tmp_path, monkeypatch, caplog):
    def fails():
        raise KeyError("the client's name")

    monkeypatch.setenv("CONDITION_STORE", str(tmp_path / "store"))
    monkeypatch.setattr(board, "show", fails)
    page = AppTest.from_file(str(ROOT / "condition/pages/shell.py"), default_timeout=60).run()
    assert [one.value for one in page.error] == [say("defect.on_page")]
    assert not page.exception
    assert "the client's name" in caplog.text
