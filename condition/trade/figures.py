"""Quantities and rates as print has them."""

from __future__ import annotations

from decimal import Decimal


def quantity_text(quantity: Decimal) -> str:
    """Return a quantity without needless zeros: ``14.8``, ``4``, ``0.25``."""
    plain = format(quantity, "f")
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def rate_text(rate: Decimal) -> str:
    """Return a rate with at least two places unless it is whole: ``7.50``, ``0.125``, ``1200``."""
    plain = format(rate, "f")
    whole, point, places = plain.partition(".")
    places = places.rstrip("0")
    return whole if not point or not places else f"{whole}.{places.ljust(2, '0')}"
