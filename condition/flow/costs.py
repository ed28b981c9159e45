"""What the shop's own instrument has cost so far, against what was paid for it."""

from __future__ import annotations

from dataclasses import dataclass

from condition.errors import Refused
from condition.flow.days import local_day, require_day
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.estimates import latest, sheet_of
from condition.flow.price_book import shop_money
from condition.flow.undo import put_back
from condition.records.cost import Cost, CostNature
from condition.records.estimate import Estimate, SheetLine
from condition.records.job import Job
from condition.trade.money import currency


@dataclass(frozen=True, slots=True)
class CostToDate:
    """Minor units of one currency. ``spent`` is everything but what was paid for the instrument; ``to_come`` are the
    counted lines of the latest estimate that are not done yet, without tax."""

    currency: str
    paid: int
    spent: int
    to_come: int
    costs: tuple[Cost, ...]
    open_lines: tuple[SheetLine, ...]

    @property
    def total(self) -> int:
        return self.paid + self.spent


def cost_to_date(desk: Desk, job: Job) -> CostToDate:
    """Return what the job has cost so far."""
    costs = desk.store.find(Cost, job_id=job.id)
    estimate = latest(desk, job)
    code = costs[0].currency if costs else estimate.currency if estimate else shop_money(desk).currency
    done = {cost.line_id for cost in costs}
    lines = sheet_of(desk, estimate).lines if estimate and estimate.currency == code else ()
    open_lines = tuple(line for line in lines if line.counted and line.net and line.id not in done)
    paid = sum(cost.amount_minor for cost in costs if cost.nature == "paid for it")
    spent = sum(cost.amount_minor for cost in costs if cost.nature != "paid for it")
    return CostToDate(code, paid, spent, sum(line.net for line in open_lines), costs, open_lines)


def add_cost(
    desk: Desk, job: Job, nature: CostNature, words: str, amount_minor: int, *, day: str = "", line_id: str = ""
) -> Cost:
    """Write down an amount spent, in the currency of the costs that are there, else the shop's.

    Raises
    ------
    Refused
        ``money.negative``, ``plan.no_day``
    """
    if amount_minor < 0:
        raise Refused("money.negative")
    code = currency(cost_to_date(desk, job).currency).code
    day = require_day(day) or local_day(utc_now())
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(Cost(new_id(), job.id, nature, words.strip(), amount_minor, code, day, line_id))


def line_done(desk: Desk, job: Job, estimate: Estimate, line: SheetLine, *, day: str = "") -> Cost:
    """Turn a line that has been done into a cost of its amount without tax.

    Raises
    ------
    Refused
        ``cost.done_before``; ``cost.other_currency``: the costs are kept in another currency.
    """
    so_far = cost_to_date(desk, job)
    if any(cost.line_id == line.id for cost in so_far.costs):
        raise Refused("cost.done_before", line=line.words)
    if so_far.currency != estimate.currency:
        raise Refused("cost.other_currency", currency=so_far.currency)
    nature: CostNature = "outside" if line.outside else "work"
    return add_cost(desk, job, nature, line.words, line.net, day=day, line_id=line.id)


def remove_cost(desk: Desk, cost: Cost) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        work.remove(work.get(Cost, cost.id))


def put_back_cost(desk: Desk, cost_id: str) -> Cost:
    return put_back(desk, Cost, cost_id)
