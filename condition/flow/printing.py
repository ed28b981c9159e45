"""What is printed or shown for the bench rather than for the client: the sheet of size cards, QR codes."""

from __future__ import annotations

from condition.report.card_sheet import card_sheet_pdf, card_sheet_svg
from condition.report.qr import qr_svg

__all__ = ["card_sheet_pdf", "card_sheet_svg", "qr_svg"]
