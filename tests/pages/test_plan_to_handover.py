"""In a real browser: what was decided is planned, estimated, sent and answered; the instrument goes out and is told."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal

import pypdf
import pytest
from playwright.sync_api import Page, expect

from tests.browser import ROOT, Server

WAIT = 60_000

pytestmark = pytest.mark.browser


@pytest.fixture
def bench(chromium, tmp_path):
    """A job with a measured crack to repair and a worn place to leave, and a shop that has prices."""
    from condition.flow.desk import Desk
    from condition.flow.findings import new_finding, type_measurement
    from condition.flow.jobs import open_job
    from condition.flow.price_book import keep_shop_money, new_price, shop_money
    from condition.flow.shop import keep_shop, shop
    from condition.records.measurement import Measurement
    from condition.store import Store

    with Store.open(tmp_path / "store") as store:
        desk = Desk(store, "tester")
        job = open_job(desk, "2026-001", title="Test mandolin", family="mandolin", client_name="A. Client")
        crack = new_finding(desk, job, "crack", place="top", decision="repair", decision_reason="it runs on")
        type_measurement(desk, crack, Measurement("length", 148.2, "mm", 0.9, "rule"), overrules=True)
        new_finding(desk, job, "finish loss", place="where the arm lies", decision="leave")
        keep_shop(desk, replace(shop(desk), name="Tolland Bench"))
        keep_shop_money(desk, replace(shop_money(desk), tax_name="VAT", tax_percent=Decimal(20)))
        new_price(desk, "Crack glued and cleated", "cm", Decimal("7.50"), suits=("crack",))
    server = Server(ROOT / "app.py", {"CONDITION_STORE": str(tmp_path / "store")}).start()
    context = chromium.new_context(viewport={"width": 1366, "height": 900}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    expect.set_options(timeout=WAIT)
    page.goto(f"{server.url}/plan?job={job.id}")
    yield page
    context.close()
    server.kill()


def open_place(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).first.click()


def saved_text(page: Page, button: str) -> str:
    with page.expect_download() as download:
        page.get_by_role("button", name=button, exact=True).click()
    data = download.value.path().read_bytes()
    return " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def test_from_the_plan_over_the_estimate_to_the_handover(bench):
    page = bench
    page.get_by_role("button", name="Plan the findings as they were decided").click()
    expect(page.get_by_role("button", name="Edit")).to_have_count(2)
    work = page.get_by_label("The work, in short")
    work.fill("Glue and cleat the top crack")
    work.press("Tab")
    expect(page.get_by_text(re.compile(r"^1 +Glue and cleat the top crack$"))).to_be_visible()

    page.reload()
    expect(page.get_by_text(re.compile(r"^1 +Glue and cleat the top crack$"))).to_be_visible()
    page.get_by_role("button", name="To the estimate").click()
    page.get_by_role("button", name="Begin the estimate").click()
    expect(page.get_by_text(re.compile(r"14\.8 cm × 7\.50"))).to_be_visible()
    expect(page.get_by_role("heading", name="133.20 EUR")).to_be_visible()
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_role("heading", name="The client’s answer")).to_be_visible()
    text = saved_text(page, "Save the PDF as sent")
    for told in ("A. Client", "Tolland Bench", "14.8 cm × 7.50", "111.00 EUR", "VAT 20 %", "133.20 EUR", "it runs on"):
        assert told in text
    page.get_by_role("radio", name="accepted").or_(page.get_by_role("button", name="accepted")).first.click()
    expect(page.get_by_text("Total as agreed")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Total as agreed")).to_be_visible()

    open_place(page, "Handovers")
    expect(page.get_by_role("heading", name="It is here")).to_be_visible()
    page.get_by_role("radio", name="Sent out").or_(page.get_by_role("button", name="Sent out")).first.click()
    asked = page.get_by_label("What is asked")
    asked.fill("Close the crack from inside")
    page.get_by_label("Must not be touched").fill("The worn place")
    receiver = page.get_by_role("combobox", name=re.compile("Received by"))
    receiver.click()
    receiver.fill("L. Uthier")
    receiver.press("Enter")
    page.get_by_label(re.compile("Value declared")).fill("4800")
    page.get_by_role("button", name="Keep this change of hands").click()
    expect(page.get_by_role("heading", name="With L. Uthier")).to_be_visible()
    page.reload()
    expect(page.get_by_role("heading", name="With L. Uthier")).to_be_visible()
    sheet = saved_text(page, "Specialist’s sheet")
    assert "The worn place" in sheet
    assert "4" + "800" not in sheet.replace(" ", "")
    assert "800.00 EUR" in saved_text(page, "Paper to sign")
