"""What a write may answer instead of being done."""

from __future__ import annotations

from typing import Any

from condition.errors import Refused


class Stale(Refused):
    """Somebody changed or removed the record meanwhile; ``current`` is the record as it stands, None when removed."""

    def __init__(self, code: str, current: Any = None, **values: object) -> None:
        super().__init__(code, **values)
        self.current = current

    def __reduce__(self):
        return _rebuild_stale, (self.code, self.current, self.values)


def _rebuild_stale(code: str, current: Any, values: dict[str, object]) -> Stale:
    return Stale(code, current, **values)


class AlreadyDone(Exception):
    """The operation was done before; ``answer`` is what it answered then. Nothing was changed now."""

    def __init__(self, answer: Any) -> None:
        super().__init__(answer)
        self.answer = answer
