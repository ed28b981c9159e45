"""The demonstration job opened once for all tests that read it."""

from __future__ import annotations

from dataclasses import dataclass

from condition.flow.desk import Desk
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.photo import Photo

KINDS = (
    "crack",
    "lifted",
    "enlarged hole",
    "screw hole",
    "screw hole",
    "finish loss",
    "finish checking",
    "wear groove",
    "electrical fault",
)
"""The kinds of the findings of the intake, in the order of their numbers."""


@dataclass(frozen=True)
class Opened:
    desk: Desk
    job: Job
    findings: dict[int, Finding]
    photos: dict[str, Photo]
