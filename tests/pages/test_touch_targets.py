"""What a finger hits on a tablet: small controls reach at least 44 by 44 CSS pixels (WCAG 2.2, 2.5.5 Target Size).

The reach is felt for in the browser: from a control's middle outwards, as long as a touch there still meets it.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from condition.flow.desk import Desk
from condition.flow.jobs import open_job
from condition.flow.parts import lay_out
from condition.store import Store
from tests.browser import ROOT, Server

pytestmark = pytest.mark.browser
WAIT = 60_000
LEAST = 44
REACH = """(one) => {
  one.scrollIntoView({ block: 'center' });
  const box = one.getBoundingClientRect(), x = box.x + box.width / 2, y = box.y + box.height / 2;
  const met = (dx, dy) => one.contains(document.elementFromPoint(x + dx, y + dy));
  const far = (dx, dy) => { let n = 0; while (n < 60 && met(dx * (n + 1), dy * (n + 1))) n++; return n; };
  return met(0, 0) ? [far(-1, 0) + far(1, 0) + 1, far(0, -1) + far(0, 1) + 1] : [0, 0];
}"""


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("touched") / "store"
    with Store.open(folder) as store:
        desk = Desk(store, "tester")
        job = open_job(desk, "2026-001", title="Test mandolin", family="mandolin", client_name="A. Client")
        lay_out(desk, job)
        server = Server(ROOT / "app.py", {"CONDITION_STORE": str(folder)}).start()
        yield server, job
        server.kill()


@pytest.fixture
def page(chromium) -> Page:
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    yield page
    context.close()


def opened(page: Page, served, place: str) -> None:
    server, job = served
    page.goto(f"{server.url}/{place}?job={job.id}")
    page.get_by_role("heading").first.wait_for()
    page.locator("[data-test-script-state=notRunning]").first.wait_for()
    assert page.evaluate("matchMedia('(pointer: coarse)').matches")


def too_small(page: Page, selector: str) -> list:
    shown = page.locator(f".stMainBlockContainer {selector}:visible")
    shown.first.wait_for()
    reached = [(one.evaluate(REACH), one.evaluate("one => one.outerHTML")[:160]) for one in shown.all()]
    return [(reach, html) for reach, html in reached if min(reach) < LEAST]


def test_ticks_choices_and_help_signs(page, served):
    opened(page, served, "instrument")
    for selector in (
        "[data-testid=stCheckbox] label",
        "[data-testid=stRadioOption]",
        "[data-testid=stTooltipIcon] .stTooltipHoverTarget",
    ):
        assert not too_small(page, selector), selector


def test_what_was_chosen_from_a_list_is_taken_away_with_a_finger(page, served):
    opened(page, served, "strip-down")
    for _ in range(2):
        page.locator(".stMultiSelect input:visible").first.click()
        page.get_by_role("option").nth(1).click()
    chosen = page.locator(".stMultiSelect [data-tag]:visible")
    expect(chosen).to_have_count(2)
    page.keyboard.press("Escape")
    for selector in ("[data-tag] button", ".stMultiSelect button[aria-label='Clear all']"):
        assert not too_small(page, selector), selector
    chosen.first.get_by_role("button").tap()
    expect(chosen).to_have_count(1)
