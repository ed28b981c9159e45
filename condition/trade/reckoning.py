"""What the lines of an estimate come to. Every sum adds up to the last minor unit, in every currency.

Each line is rounded first and the rounded lines are added; discount, tax and deposit are each rounded once by the same
rule, and shared out over the lines without a remainder.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext

from condition.errors import Refused
from condition.records.estimate import Totals
from condition.records.money import Rounding, TaxOn
from condition.trade.money import EXACT, allocate, from_minor, to_minor

HUNDRED = Decimal(100)


@dataclass(frozen=True, slots=True)
class Terms:
    """How an estimate is reckoned; per cents are 0 to 100, the fixed discount is in minor units."""

    currency: str
    rounding: Rounding = "half up"
    tax_percent: Decimal = Decimal(0)
    tax_on: TaxOn = "total"
    discount_percent: Decimal = Decimal(0)
    discount_minor: int = 0
    deposit_percent: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Priced:
    """A line's amount before discount and tax, in minor units; one that is not counted adds nothing to the sums."""

    net: int
    counted: bool = True
    taxed: bool = True


@dataclass(frozen=True, slots=True)
class Share:
    """A line's part of the discount and of the tax, in minor units."""

    discount: int = 0
    tax: int = 0


def work_of(
    quantity: Decimal, rate: Decimal, minimum_minor: int, currency: str, rounding: Rounding
) -> tuple[int, bool]:
    """Return quantity times rate in minor units, or the minimum when that is more, and whether it is the minimum.

    Raises
    ------
    Refused
        ``money.negative``: a quantity, rate or minimum below nothing.
    """
    if quantity < 0 or rate < 0 or minimum_minor < 0:
        raise Refused("money.negative")
    with localcontext(EXACT):
        work = to_minor(quantity * rate, currency, rounding)
    return (minimum_minor, True) if work < minimum_minor and quantity else (work, False)


def part_of(amount: Decimal, percent: Decimal, currency: str, rounding: Rounding) -> int:
    """Return a percentage of an amount (in the currency's unit) in minor units."""
    with localcontext(EXACT):
        return to_minor(amount * percent / HUNDRED, currency, rounding)


def reckon(lines: Sequence[Priced], terms: Terms) -> tuple[tuple[Share, ...], Totals]:
    """Return each line's share of discount and tax, and the sums.

    Always: the counted lines add up to ``net``; their shares add up to ``discount`` and ``tax``;
    net - discount + tax = gross; deposit + balance = gross.

    Raises
    ------
    Refused
        ``money.percent``: a percentage outside 0 to 100. ``money.negative``: an amount below nothing.
    """
    percents = (terms.tax_percent, terms.discount_percent, terms.deposit_percent)
    if any(not 0 <= percent <= HUNDRED for percent in percents):
        raise Refused("money.percent")
    if terms.discount_minor < 0 or any(line.net < 0 for line in lines):
        raise Refused("money.negative")

    def part(minor: int, percent: Decimal) -> int:
        return part_of(from_minor(minor, terms.currency), percent, terms.currency, terms.rounding)

    nets = [line.net if line.counted else 0 for line in lines]
    net = sum(nets)
    discount = min(net, part(net, terms.discount_percent) + terms.discount_minor)
    discounts = allocate(discount, nets)
    bases = [own - off if line.taxed else 0 for line, own, off in zip(lines, nets, discounts, strict=True)]
    if terms.tax_on == "line":
        taxes = tuple(part(base, terms.tax_percent) for base in bases)
    else:
        taxes = allocate(part(sum(bases), terms.tax_percent), bases)
    tax = sum(taxes)
    gross = net - discount + tax
    deposit = part(gross, terms.deposit_percent)
    shares = tuple(Share(off, due) for off, due in zip(discounts, taxes, strict=True))
    return shares, Totals(net, discount, tax, gross, deposit, gross - deposit)
