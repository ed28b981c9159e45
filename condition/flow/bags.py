"""Numbered bags of small parts: what is in each, and the labels that say so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.flow.undo import put_back
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.part import Part
from condition.records.strip_down import Bag, StripDownStep
from condition.store import Write
from condition.words import say, say_n

MOST_BAGS = 999
LabelPaper = Literal["label", "a4", "letter"]


def bags_of(desk: Desk, job: Job) -> tuple[Bag, ...]:
    return desk.store.find(Bag, job_id=job.id)


def next_bag_number(desk: Desk, job: Job) -> int:
    return 1 + max((bag.number for bag in bags_of(desk, job)), default=0)


def bag_numbered(work: Write, job: Job, number: int) -> Bag:
    """Return the job's bag of that number, begun now if there is none.

    Raises
    ------
    Refused
        ``bags.bad_number``
    """
    if not 1 <= number <= MOST_BAGS:
        raise Refused("bags.bad_number", number=number, most=MOST_BAGS)
    return work.one(Bag, job_id=job.id, number=number) or work.put(Bag(new_id(), job.id, number))


def begin_bag(desk: Desk, job: Job, label: str = "", number: int | None = None, stays: str = "") -> Bag:
    """Begin a bag: the next number, or the number given; one that is there keeps what it says unless told anew."""
    with desk.store.write(new_id(), desk.person) as work:
        taken = [bag.number for bag in work.find(Bag, job_id=job.id)]
        bag = bag_numbered(work, job, number if number is not None else 1 + max(taken, default=0))
        told = replace(bag, label=label.strip() or bag.label, stays=stays.strip() or bag.stays)
        return work.put(told) if told != bag else bag


def edit_bag(desk: Desk, bag: Bag, **fields: object) -> Bag:
    edited = replace(bag, **fields)
    with desk.store.write(new_id(), desk.person) as work:
        return edited if work.get(Bag, bag.id) == edited else work.put(edited)


def remove_bag(desk: Desk, bag: Bag) -> None:
    """Take an empty bag away.

    Raises
    ------
    Refused
        ``bags.not_empty``: steps or parts still name it.
    """
    with desk.store.write(new_id(), desk.person) as work:
        if work.find(StripDownStep, bag_id=bag.id) or work.find(Part, bag_id=bag.id):
            raise Refused("bags.not_empty", number=bag.number)
        work.remove(work.get(Bag, bag.id))


def bring_bag_back(desk: Desk, bag_id: str) -> Bag:
    return put_back(desk, Bag, bag_id)


def contents_of(desk: Desk, bag: Bag) -> tuple[str, ...]:
    """Return in words what lies in a bag now: parts, screws by their holes, fragments."""
    parts = [part.name for part in desk.store.find(Part, bag_id=bag.id) if part.place == "bag"]
    lines = list(parts)
    for step in desk.store.find(StripDownStep, bag_id=bag.id):
        if not step.back and not step.stopped and not step.part_ids and step.what:
            lines.append(step.what)
        for screws in step.screws:
            if screws.left:
                lines.append(screws_in_words(screws.left, screws.hole))
        if step.fragments and not step.back:
            lines.append(say("bags.fragments", what=step.fragments))
    return tuple(lines)


def screws_in_words(count: int, hole: str) -> str:
    words = say_n("bags.screws", count)
    return say("bags.screws_of", screws=words, hole=hole) if hole else words


def bag_labels(desk: Desk, job: Job, bags: Iterable[Bag] | None = None, paper: LabelPaper = "a4") -> bytes:
    """Return the labels of the job's bags as a PDF: one small page each, or several on a sheet."""
    from condition.report.labels import Label, labels_pdf

    instrument = desk.store.get(Instrument, job.instrument_id)
    labels = []
    for bag in bags if bags is not None else bags_of(desk, job):
        title = say("bags.title", number=bag.number)
        contents = contents_of(desk, bag) or (say("bags.empty"),)
        lines = [say("bags.job", job=job.name, title=instrument.title), bag.label, *contents]
        if bag.stays:
            lines.append(say("bags.stays", why=bag.stays))
        lines = tuple(line for line in lines if line)
        labels.append(Label(title, lines, "\n".join((title, *lines))))
    return labels_pdf(labels, paper)
