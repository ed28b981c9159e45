"""The strip-down log read backwards, and what is left over when it has been read to its end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from condition.records.part import Part
from condition.records.strip_down import Bag, StripDownStep


def read_backwards(steps: Iterable[StripDownStep]) -> tuple[StripDownStep, ...]:
    """Return what has to go back, the step that came off last first."""
    return tuple(sorted((step for step in steps if step.goes_back), key=lambda step: step.step_order, reverse=True))


@dataclass(frozen=True, slots=True)
class Account:
    """What is not yet where it belongs.

    open_steps : steps not ticked, in the order they go back
    over : steps that were ticked though screws of theirs are left
    bags_left : bags that still hold something and do not stay by agreement
    bags_staying : bags that stay by agreement and hold something
    screws_left : screws not back in a hole; those of a bag that stays by agreement are not counted
    screws_staying : screws that stay in a bag by agreement
    parts_left : parts in such bags or loose on the bench
    parts_out : parts that are out to somebody
    """

    open_steps: tuple[StripDownStep, ...] = ()
    over: tuple[StripDownStep, ...] = ()
    bags_left: tuple[Bag, ...] = ()
    bags_staying: tuple[Bag, ...] = ()
    screws_left: int = 0
    screws_staying: int = 0
    parts_left: tuple[Part, ...] = ()
    parts_out: tuple[Part, ...] = ()

    @property
    def nothing_over(self) -> bool:
        return not (self.open_steps or self.over or self.bags_left or self.screws_left or self.parts_left)


def account(steps: Iterable[StripDownStep], bags: Iterable[Bag], parts: Iterable[Part]) -> Account:
    """Return what is left: every screw is back in a hole, left, or staying; every bag empty, left, or staying."""
    steps, bags, parts = read_backwards(steps), tuple(bags), tuple(parts)
    staying = {bag.id for bag in bags if bag.stays}
    holding = {step.bag_id for step in steps if not step.back or step.screws_left}
    holding |= {part.bag_id for part in parts if part.place == "bag"}
    full = [bag for bag in sorted(bags, key=lambda bag: bag.number) if bag.id in holding]
    expected = [step for step in steps if step.bag_id not in staying]
    return Account(
        open_steps=tuple(step for step in expected if not step.back),
        over=tuple(step for step in expected if step.back and step.screws_left),
        bags_left=tuple(bag for bag in full if bag.id not in staying),
        bags_staying=tuple(bag for bag in full if bag.id in staying),
        screws_left=sum(step.screws_left for step in expected),
        screws_staying=sum(step.screws_left for step in steps if step.bag_id in staying),
        parts_left=tuple(
            part for part in parts if part.place == "bench" or (part.place == "bag" and part.bag_id not in staying)
        ),
        parts_out=tuple(part for part in parts if part.place == "out"),
    )
