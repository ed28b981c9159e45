"""Whoever acts: the shop's own people, client, specialist, carrier."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Role = Literal["own", "client", "specialist", "carrier", "other"]


@dataclass(frozen=True, slots=True)
class Person:
    id: str
    name: str
    role: Role = "client"
    address: str = ""
    contact: str = ""
    note: str = ""
    version: int = 0
