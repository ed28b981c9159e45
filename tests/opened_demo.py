"""The demonstration job opened once for all tests that read it."""

from __future__ import annotations

from dataclasses import dataclass

from condition.flow.desk import Desk
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.photo import Photo


@dataclass(frozen=True)
class Opened:
    desk: Desk
    job: Job
    findings: dict[int, Finding]
    photos: dict[str, Photo]
