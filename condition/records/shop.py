"""The shop itself: what stands at the head of its papers, and what its printed size cards measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = ("a4", "letter")

SHOP_ID = "00000000-0000-4000-8000-000000000000"


@dataclass(frozen=True, slots=True)
class Shop:
    """check_line_mm : what the printed sheet's 100 mm line measures on the shop's own print; None when not measured."""

    id: str = SHOP_ID
    name: str = ""
    address: str = ""
    contact: str = ""
    examiner: str = ""
    paper: Paper = "a4"
    check_line_mm: float | None = None
    version: int = 0
