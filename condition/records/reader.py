"""Who a paper is for, and what it therefore holds and leaves out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Reader = Literal["record", "client", "insurer", "specialist", "buyer", "public"]
READERS: tuple[Reader, ...] = ("record", "client", "insurer", "specialist", "buyer", "public")
"""``record`` is the shop's own complete record."""

Withheld = Literal["prices", "values", "names", "addresses", "serials", "request", "photo facts", "claims"]
WITHHELD: tuple[Withheld, ...] = (
    "prices", "values", "names", "addresses", "serials", "request", "photo facts", "claims",
)  # fmt: skip
"""prices: what work and purchase cost; values: what the instrument is declared to be worth; photo facts: file names,
cameras, times and hashes; claims: what the owner or a seller says it is."""


@dataclass(frozen=True, slots=True)
class PaperChoice:
    """One job's choice for one reader, once it was changed from the usual.

    sections : in the order they are set; withheld : what is left out, see ``WITHHELD``
    """

    id: str
    job_id: str
    reader: Reader
    sections: tuple[str, ...] = ()
    withheld: tuple[Withheld, ...] = ()
    version: int = 0


@dataclass(frozen=True, slots=True)
class PaperFace:
    """What a paper says of itself on its first page."""

    reader: Reader
    withheld: tuple[Withheld, ...] = ()
