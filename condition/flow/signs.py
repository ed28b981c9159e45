"""The legend's symbols for the pages: the same lines the report draws."""

from __future__ import annotations

from condition.report.symbols import symbol

__all__ = ["symbol"]
