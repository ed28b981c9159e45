"""What the work costs: an estimate with its editions, and exactly what was sent."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from condition.records.money import PriceUnit, Rounding, TaxOn

Answer = Literal["", "accepted", "declined", "asked"]
ANSWERS: tuple[Answer, ...] = ("", "accepted", "declined", "asked")


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """One line while it is being written.

    quantity : None takes it from the finding ``finding_id``, and follows it until the estimate is sent
    price_id, variant : the price book's entry it follows; rate, minimum_minor and materials_minor typed here go
        before the book's (None: the book's)
    outside : work of somebody else, passed on; ``outside_who`` does it
    optional : the client may have it or not; it counts once accepted
    option_group : lines of one group exclude each other; only the ``chosen`` one counts
    """

    id: str
    words: str = ""
    treatment_id: str = ""
    finding_id: str = ""
    price_id: str = ""
    variant: str = ""
    unit: PriceUnit = "each"
    quantity: Decimal | None = None
    rate: Decimal | None = None
    minimum_minor: int | None = None
    materials_minor: int | None = None
    outside: bool = False
    outside_who: str = ""
    optional: bool = False
    option_group: str = ""
    chosen: bool = True
    taxed: bool = True


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line as it stands on the paper; money in minor units.

    measured : what the quantity was measured as, empty when typed; finding : the finding's number, 0 for none
    work : quantity times rate, or the minimum; net = work + materials
    counted : it is in the total (not an open option)
    discount, tax : its shares of the sheet's discount and tax
    """

    id: str
    words: str
    why: str
    finding: int
    measured: str
    quantity: Decimal
    unit: PriceUnit
    rate: Decimal
    minimum: int
    at_minimum: bool
    work: int
    materials: int
    materials_words: str
    net: int
    discount: int
    tax: int
    counted: bool
    optional: bool
    option_group: str
    chosen: bool
    outside: bool
    outside_who: str
    taxed: bool


@dataclass(frozen=True, slots=True)
class Totals:
    """The sums, in minor units: net - discount + tax = gross, deposit + balance = gross."""

    net: int
    discount: int
    tax: int
    gross: int
    deposit: int
    balance: int


@dataclass(frozen=True, slots=True)
class EstimateSheet:
    """An estimate with every value and name it shows; nothing in it is looked up again."""

    number: str
    edition: int
    job_name: str
    instrument: str
    serial: str
    client_name: str
    client_address: str
    client_contact: str
    shop_name: str
    shop_address: str
    shop_contact: str
    examiner: str
    binding: bool
    currency: str
    rounding: Rounding
    tax_on: TaxOn
    tax_name: str
    tax_percent: Decimal
    discount_percent: Decimal
    discount_fixed: int
    discount_words: str
    deposit_percent: Decimal
    stop_above: int
    lead_time: str
    terms: str
    intro: str
    included: str
    not_included: tuple[str, ...]
    dated: str
    valid_until: str
    lines: tuple[SheetLine, ...]
    totals: Totals


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """The client's word on one line; ``at`` UTC, ``words`` as said."""

    line_id: str
    answer: Answer
    at: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Estimate:
    """One edition of a job's estimate.

    edition : 1, 2, ...; unique in a job. Once ``sent_at`` is set, ``sent`` with its ``sent_sha256`` is what holds;
        the fields above it are only what it was made from
    valid_until : local day; empty while it follows the shop's validity from the day of sending
    discount_minor : a fixed discount beside the percentage
    """

    id: str
    job_id: str
    edition: int = 1
    currency: str = "EUR"
    rounding: Rounding = "half up"
    tax_on: TaxOn = "total"
    tax_name: str = ""
    tax_percent: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)
    discount_minor: int = 0
    discount_words: str = ""
    deposit_percent: Decimal = Decimal(0)
    stop_above_minor: int = 0
    validity_days: int = 30
    valid_until: str = ""
    binding: bool = False
    lead_time: str = ""
    terms: str = ""
    intro: str = ""
    included: str = ""
    not_included: tuple[str, ...] = ()
    lines: tuple[EstimateLine, ...] = ()
    begun_at: str = ""
    sent_at: str = ""
    sent: EstimateSheet | None = None
    sent_sha256: str = ""
    answers: tuple[LineAnswer, ...] = ()
    version: int = 0
