"""The instrument, or a part of it, changing hands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

HandoverStep = Literal["intake", "out", "back", "returned"]
HANDOVER_STEPS: tuple[HandoverStep, ...] = ("intake", "out", "back", "returned")

Thing = Literal["instrument", "part"]

PackedKind = Literal["case", "bag", "lead", "strap", "part", "papers", "wood papers", "spares", "other"]
PACKED_KINDS: tuple[PackedKind, ...] = (
    "case",
    "bag",
    "lead",
    "strap",
    "part",
    "papers",
    "wood papers",
    "spares",
    "other",
)


@dataclass(frozen=True, slots=True)
class Packed:
    """One thing on the packing list."""

    kind: PackedKind
    words: str = ""
    count: int = 1


@dataclass(frozen=True, slots=True)
class Handover:
    """One change of hands.

    thing, part_ids, part_words : the whole instrument, or which parts (of the parts list, and in words)
    giver_id, taker_id, carrier_id : who hands over, who receives, who carries
    due_on : local day it is expected back (out), or to be ready (intake); empty when open
    out_id : for 'back': the 'out' it ends
    value_minor : the value declared for transport, in ``currency``
    photo_ids : the photos that show the condition at that moment; finding_ids : what the specialist's work is about
    asked, untouched, fragile, keep : the specialist's sheet: what is asked, what must not be touched, what is fragile,
        what has to come back (such as the original coil)
    signed_by, signed_at : who signed the paper for receiving it
    """

    id: str
    job_id: str
    step: HandoverStep = "intake"
    thing: Thing = "instrument"
    part_ids: tuple[str, ...] = ()
    part_words: str = ""
    giver_id: str | None = None
    taker_id: str | None = None
    carrier_id: str | None = None
    consignment: str = ""
    handed_at: str = ""
    due_on: str = ""
    out_id: str = ""
    value_minor: int | None = None
    currency: str = "EUR"
    packed: tuple[Packed, ...] = ()
    packing: str = ""
    condition: str = ""
    photo_ids: tuple[str, ...] = ()
    finding_ids: tuple[str, ...] = ()
    asked: str = ""
    untouched: str = ""
    fragile: str = ""
    keep: str = ""
    signed_by: str = ""
    signed_at: str = ""
    version: int = 0
