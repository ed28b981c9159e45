"""An instrument looked at before it is bought: what the seller says, what is asked, what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BuyingDecision = Literal["", "buy", "ask again", "leave it"]
BUYING_DECISIONS: tuple[BuyingDecision, ...] = ("", "buy", "ask again", "leave it")


@dataclass(frozen=True, slots=True)
class BeforeBuying:
    """One look before buying, of one job.

    claims : the seller's words, one claim a line; asking_minor : in minor units of ``currency``, None when not told
    worries : what the look brought up; photo_ids : the photos of its sheet, in order
    """

    id: str
    job_id: str
    seller: str = ""
    seller_contact: str = ""
    claims: tuple[str, ...] = ()
    asking_typed: str = ""
    asking_minor: int | None = None
    currency: str = "EUR"
    worries: str = ""
    decision: BuyingDecision = ""
    decision_reason: str = ""
    looked_at: str = ""
    version: int = 0
