"""The shop's price book and how it reckons: currency, tax, rounding, deposit, validity."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.undo import put_back
from condition.records.finding import Finding
from condition.records.money import SHOP_MONEY_ID, PriceEntry, PriceUnit, PriceVariant, ShopMoney
from condition.trade.money import currency, read_decimal

HUNDRED = Decimal(100)


def shop_money(desk: Desk) -> ShopMoney:
    return desk.store.one(ShopMoney, id=SHOP_MONEY_ID) or ShopMoney()


def keep_shop_money(desk: Desk, edited: ShopMoney) -> ShopMoney:
    """Keep how the shop reckons; estimates that were begun before keep what they were begun with.

    Raises
    ------
    Refused
        ``money.unknown_currency``, ``money.percent``, ``money.days``, ``money.negative``
    """
    currency(edited.currency)
    if not all(0 <= percent <= HUNDRED for percent in (edited.tax_percent, edited.deposit_percent)):
        raise Refused("money.percent")
    if not 1 <= edited.validity_days <= 3660:
        raise Refused("money.days")
    if edited.stop_above_minor < 0:
        raise Refused("money.negative")
    if edited == shop_money(desk):
        return edited
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(edited)


def price_book(desk: Desk) -> tuple[PriceEntry, ...]:
    """Return every entry, by name."""
    return desk.store.find(PriceEntry)


def new_price(desk: Desk, name: str, unit: PriceUnit, rate: Decimal, **fields: object) -> PriceEntry:
    """Put a new entry into the book, in the shop's currency unless another is given."""
    fields.setdefault("currency", shop_money(desk).currency)
    return keep_price(desk, PriceEntry(new_id(), name, unit, rate, **fields))


def keep_price(desk: Desk, entry: PriceEntry) -> PriceEntry:
    """Keep an entry as edited.

    Raises
    ------
    Refused
        ``price.no_name``, ``price.name_taken``, ``price.no_variant_name``; ``money.unknown_currency``,
        ``money.negative``
    """
    entry = replace(entry, name=" ".join(entry.name.split()))
    if not entry.name:
        raise Refused("price.no_name")
    if any(other.name == entry.name and other.id != entry.id for other in price_book(desk)):
        raise Refused("price.name_taken", name=entry.name)
    currency(entry.currency)
    rates = (entry.rate, *(variant.rate for variant in entry.variants))
    if min(rates) < 0 or entry.minimum_minor < 0 or entry.materials_minor < 0:
        raise Refused("money.negative")
    if not all(variant.name.strip() for variant in entry.variants):
        raise Refused("price.no_variant_name", name=entry.name)
    if desk.store.one(PriceEntry, id=entry.id) == entry:
        return entry
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(entry)


def remove_price(desk: Desk, entry: PriceEntry) -> None:
    """Take an entry out of the book; estimates that were sent keep what they show."""
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(PriceEntry, entry.id))


def put_back_price(desk: Desk, entry_id: str) -> PriceEntry:
    return put_back(desk, PriceEntry, entry_id)


def rate_of(entry: PriceEntry, variant: str = "") -> Decimal:
    """Return the rate a unit; that of the variant when the entry has one of this name."""
    return next((one.rate for one in entry.variants if one.name == variant), entry.rate)


def read_variants(text: str) -> tuple[PriceVariant, ...]:
    """Read variants as typed, one a line: ``set neck with bound board: 38.50``.

    Raises
    ------
    Refused
        ``price.variant_line``, ``money.no_number``
    """
    found = []
    for line in filter(None, (line.strip() for line in text.splitlines())):
        name, colon, rate = line.rpartition(":")
        if not colon or not name.strip():
            raise Refused("price.variant_line", line=line)
        found.append(PriceVariant(name.strip(), read_decimal(rate)))
    return tuple(found)


def variants_text(entry: PriceEntry) -> str:
    return "\n".join(f"{variant.name}: {variant.rate:f}" for variant in entry.variants)


def suited(desk: Desk, finding: Finding | None) -> tuple[PriceEntry, ...]:
    """Return the book, the entries that suit a finding's kind first."""
    kind = finding.kind if finding else ""
    return tuple(sorted(price_book(desk), key=lambda entry: (kind not in entry.suits, entry.name.casefold())))
