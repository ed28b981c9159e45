"""One stay of one instrument at the bench, from intake to return."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Job:
    """The stay: whose, why, and under what conditions it was examined.

    name : the shop's own job name, unique in a store
    request : what the client asks for, in their words; request_items one by one
    reason : why the report is made (insurance before travel, purchase, repair ...)
    opened_at : UTC, ISO 8601 with Z
    own_stock : the shop's own instrument; there is no client
    """

    id: str
    name: str
    instrument_id: str
    client_id: str | None = None
    examiner: str = ""
    opened_at: str = ""
    request: str = ""
    request_items: tuple[str, ...] = ()
    reason: str = ""
    light_and_aids: str = ""
    not_examined: str = ""
    summary: str = ""
    own_stock: bool = False
    last_finding_number: int = 0
    version: int = 0
