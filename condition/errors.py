"""What can go wrong, as a code and values; the sentences are made at the border from the word catalogue."""

from __future__ import annotations

from dataclasses import dataclass


class ConditionError(Exception):
    """Base of every error the program expects.

    Parameters
    ----------
    code : message id in the word catalogue, such as ``"photo.truncated"``
    values : what the sentence needs to name the thing at fault
    """

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code, values)
        self.code = code
        self.values = values

    def __str__(self) -> str:
        return f"{self.code} {self.values}" if self.values else self.code

    @property
    def named(self) -> tuple[tuple[str, str], ...]:
        """The values as pairs of text, to be kept beside the code."""
        return tuple((name, str(value)) for name, value in self.values.items())

    @property
    def told(self) -> tuple[str, tuple[tuple[str, str], ...]]:
        """The code with its values, as records keep what is to be told."""
        return (self.code, self.named)

    def __reduce__(self):
        return _rebuild, (type(self), self.code, self.values)


class Refused(ConditionError):
    """The input is at fault: nothing was stored, the person is told what to do (exit status 2)."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a store, an archive or a report: where, and what (a catalogue code and its values)."""

    path: str
    code: str
    values: tuple[tuple[str, str], ...] = ()


class Damaged(ConditionError):
    """Our own store or archive fails its check; carries every problem found, not the first."""

    def __init__(self, code: str, problems: tuple[Problem, ...] = (), **values: object) -> None:
        super().__init__(code, **values)
        self.problems = problems

    def __reduce__(self):
        return _rebuild_damaged, (self.code, self.problems, self.values)


class InvalidRecord(ConditionError, ValueError):
    """A record was built from values it cannot hold."""

    def __init__(self, record: str, why: str) -> None:
        super().__init__("record.invalid", record=record, why=why)

    def __reduce__(self):
        return InvalidRecord, (self.values["record"], self.values["why"])


def _rebuild(kind: type[ConditionError], code: str, values: dict[str, object]) -> ConditionError:
    return kind(code, **values)


def _rebuild_damaged(code: str, problems: tuple[Problem, ...], values: dict[str, object]) -> Damaged:
    return Damaged(code, problems, **values)
