"""What is printed for the bench rather than for the client: the sheet of size cards."""

from __future__ import annotations

from condition.report.card_sheet import card_sheet_pdf, card_sheet_svg

__all__ = ["card_sheet_pdf", "card_sheet_svg"]
