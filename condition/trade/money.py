"""Money: whole minor units of an ISO 4217 currency, Decimal in between, and one stated rule of rounding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, InvalidOperation, localcontext
from functools import cache

from condition.errors import Refused
from condition.records.money import Rounding
from condition.trade.tables import rows

_MODES: dict[str, str] = {"half up": ROUND_HALF_UP, "half even": ROUND_HALF_EVEN, "down": ROUND_DOWN}
"""Half up: Regulation (EC) 1103/97, article 5, and rule B of ISO 80000-1, annex B; half even: its rule A; down:
VAT Notice 700 (HMRC), 17.5, for the tax of an invoice."""

MOST_MINOR = 10**15
EXACT = Context(prec=60)
"""Wide enough that no product of quantities, rates and per cents is rounded before its one rounding."""


@dataclass(frozen=True, slots=True)
class Currency:
    """``places`` : decimal places of its minor unit (2 for EUR, 0 for JPY, 3 for KWD)"""

    code: str
    places: int
    name: str


@cache
def currencies() -> dict[str, Currency]:
    """Return every currency that has a minor unit, by code."""
    return {row["code"]: Currency(row["code"], int(row["minor_units"]), row["name"]) for row in rows("currencies")}


def currency(code: str) -> Currency:
    """Return a currency by its code.

    Raises
    ------
    Refused
        ``money.unknown_currency``
    """
    found = currencies().get(code.strip().upper())
    if found is None:
        raise Refused("money.unknown_currency", given=code)
    return found


def to_minor(amount: Decimal, code: str, rounding: Rounding = "half up") -> int:
    """Round an amount in the currency's unit to whole minor units.

    Raises
    ------
    Refused
        ``money.too_much``: more than 10^15 minor units.
    """
    with localcontext(EXACT):
        minor = amount.scaleb(currency(code).places).quantize(Decimal(1), _MODES[rounding])
    if abs(minor) > MOST_MINOR:
        raise Refused("money.too_much")
    return int(minor)


def from_minor(minor: int, code: str) -> Decimal:
    """Return minor units as an amount with all its places: 1250 EUR minor units are ``12.50``."""
    with localcontext(EXACT):
        return Decimal(minor).scaleb(-currency(code).places)


def read_decimal(text: str) -> Decimal:
    """Read a number as typed at the bench: ``1,250.40``, ``1 250,40`` or ``12.5``.

    The last of point and comma is the decimal sign when it stands once and the other one does not follow it.

    Raises
    ------
    Refused
        ``money.no_number``
    """
    plain = "".join(text.split()).replace("\u2019", "").replace("'", "")
    point, comma = plain.rfind("."), plain.rfind(",")
    if point >= 0 and comma >= 0:
        plain = plain.replace("," if point > comma else ".", "")
    elif plain.count(",") > 1 or plain.count(".") > 1:
        plain = plain.replace(",", "").replace(".", "")
    plain = plain.replace(",", ".")
    try:
        number = Decimal(plain)
    except InvalidOperation as error:
        raise Refused("money.no_number", given=text) from error
    if not number.is_finite() or abs(number) >= Decimal(10) ** 15:
        raise Refused("money.no_number", given=text)
    return number


def read_amount(text: str, code: str) -> int:
    """Read an amount of money as typed, in minor units; nothing is rounded away.

    Raises
    ------
    Refused
        ``money.no_number``; ``money.too_fine``: more places than the currency has.
    """
    number = read_decimal(text)
    minor = to_minor(number, code)
    if from_minor(minor, code) != number:
        raise Refused("money.too_fine", given=text, currency=code, places=currency(code).places)
    return minor


def shown(minor: int, code: str) -> str:
    """Return an amount for print, thousands apart by a narrow space: ``4 800.00 EUR``."""
    return f"{from_minor(minor, code):,f} {code}".replace(",", "\u202f")


def plain_amount(minor: int, code: str) -> str:
    """Return an amount as it can be typed again: ``4800.00``."""
    return f"{from_minor(minor, code):f}"


def allocate(total_minor: int, weights: Sequence[int]) -> tuple[int, ...]:
    """Share an amount out in proportion to weights, to the last minor unit: the shares always add up to the total.

    Every share is within one minor unit of its exact part; what is left over goes to the largest remainders, the
    first of equals first (largest remainder method). With no weight at all the first share takes everything.

    Raises
    ------
    ValueError
        A weight is negative, or there is none to take the total.
    """
    if any(weight < 0 for weight in weights) or (not weights and total_minor):
        raise ValueError("weights")
    whole = sum(weights)
    if not whole:
        return tuple(total_minor if k == 0 else 0 for k in range(len(weights)))
    sign = -1 if total_minor < 0 else 1
    parts = [divmod(abs(total_minor) * weight, whole) for weight in weights]
    left = abs(total_minor) - sum(share for share, _ in parts)
    first = sorted(range(len(parts)), key=lambda k: (-parts[k][1], k))[:left]
    return tuple(sign * (share + (k in first)) for k, (share, _) in enumerate(parts))
