"""How the shop reckons: its currency, tax, rounding and terms, and its price book."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Rounding = Literal["half up", "half even", "down"]
ROUNDINGS: tuple[Rounding, ...] = ("half up", "half even", "down")

TaxOn = Literal["total", "line"]
TAXED_ON: tuple[TaxOn, ...] = ("total", "line")

PriceUnit = Literal["hole", "cm", "cm2", "fret", "string", "each", "hour", "fixed"]
PRICE_UNITS: tuple[PriceUnit, ...] = ("hole", "cm", "cm2", "fret", "string", "each", "hour", "fixed")

SHOP_MONEY_ID = "00000000-0000-4000-8000-000000000001"


@dataclass(frozen=True, slots=True)
class ShopMoney:
    """What every new estimate begins with.

    currency : ISO 4217 code; tax_percent, deposit_percent : per cent, 20 is a fifth
    rounding : the rule by which a line and a tax come to whole minor units
    tax_on : tax is reckoned once on the total, or on each line and added up
    binding : a quote that binds, not an estimate that forecasts
    stop_above_minor : hidden damage that would cost more than this stops the work until the client is asked
    """

    id: str = SHOP_MONEY_ID
    currency: str = "EUR"
    tax_name: str = ""
    tax_percent: Decimal = Decimal(0)
    rounding: Rounding = "half up"
    tax_on: TaxOn = "total"
    deposit_percent: Decimal = Decimal(0)
    validity_days: int = 30
    binding: bool = False
    stop_above_minor: int = 0
    lead_time: str = ""
    terms: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class PriceVariant:
    """A dearer (or cheaper) way of the same work, such as a set neck with a bound board: its own rate."""

    name: str
    rate: Decimal


@dataclass(frozen=True, slots=True)
class PriceEntry:
    """One line of the price book.

    rate : in ``currency`` a unit; minimum_minor : the least the work of a line costs
    materials_minor : materials of a line, once, or a unit with ``materials_each``
    suits : kinds of finding it is offered for first
    """

    id: str
    name: str
    unit: PriceUnit = "each"
    rate: Decimal = Decimal(0)
    currency: str = "EUR"
    minimum_minor: int = 0
    materials_minor: int = 0
    materials_each: bool = False
    materials_words: str = ""
    variants: tuple[PriceVariant, ...] = ()
    suits: tuple[str, ...] = ()
    note: str = ""
    version: int = 0
