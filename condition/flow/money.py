"""Money for the pages: amounts read, shown and named."""

from __future__ import annotations

from condition.trade.figures import quantity_text, rate_text
from condition.trade.money import Currency, currencies, currency, plain_amount, read_amount, read_decimal, shown

__all__ = [
    "Currency", "currencies", "currency", "plain_amount", "quantity_text", "rate_text", "read_amount", "read_decimal",
    "shown",
]  # fmt: skip
