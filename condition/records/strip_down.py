"""What was taken off, in which order, with its screws, wires, picture and bag."""

from __future__ import annotations

from dataclasses import dataclass

from condition.errors import InvalidRecord


@dataclass(frozen=True, slots=True)
class Bag:
    """One numbered bag of small parts.

    stays : why what is left in it stays there by agreement, when the instrument is together again; empty otherwise
    """

    id: str
    job_id: str
    number: int
    label: str = ""
    stays: str = ""
    version: int = 0

    def __post_init__(self) -> None:
        if self.number < 1:
            raise InvalidRecord("bag", f"number {self.number}")


@dataclass(frozen=True, slots=True)
class Screws:
    """Screws of one kind from one place: how many came out, of which hole, how many went back in."""

    count: int
    hole: str = ""
    back: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.back <= self.count:
            raise InvalidRecord("screws", f"{self.back} back of {self.count}")

    @property
    def left(self) -> int:
        return self.count - self.back


@dataclass(frozen=True, slots=True)
class StripDownStep:
    """One step of the strip-down; read backwards, one step of the reassembly.

    what : what came off, in words; ``part_ids`` : the parts of the list it took off
    wires, fragments : what was unsoldered or unplugged from where; loose pieces found and kept
    photo_id : the picture of the layer, before or while it came off
    bag_id : where its small parts lie
    stopped, reason : the step was stopped because the part is too fragile; it stays as it is
    taken_at, taken_by, back_at, back_by : when and by whom, UTC; not back while empty
    over_reason : why screws were left over when it was put back
    """

    id: str
    job_id: str
    step_order: int
    what: str = ""
    part_ids: tuple[str, ...] = ()
    screws: tuple[Screws, ...] = ()
    wires: str = ""
    fragments: str = ""
    photo_id: str | None = None
    bag_id: str | None = None
    stopped: bool = False
    reason: str = ""
    taken_at: str = ""
    taken_by: str = ""
    back_at: str = ""
    back_by: str = ""
    over_reason: str = ""
    version: int = 0

    @property
    def screw_count(self) -> int:
        return sum(screws.count for screws in self.screws)

    @property
    def screws_left(self) -> int:
        return sum(screws.left for screws in self.screws)

    @property
    def goes_back(self) -> bool:
        """Whether there is anything to put back: not for a step that was stopped before anything came off."""
        return not self.stopped or bool(self.screws or self.fragments or self.bag_id)

    @property
    def back(self) -> bool:
        return bool(self.back_at)
