"""The kinds of record the store keeps. A new kind: its entry here, then ``python -m condition.store.draft WHAT``.

The columns follow the record's fields: text, numbers and flags are columns of their own; everything nested is one
JSON column.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from condition.records.arrivals import PhonePass, WatchedFolder
from condition.records.attachment import Attachment
from condition.records.buying import BeforeBuying
from condition.records.cost import Cost
from condition.records.estimate import Estimate
from condition.records.fault import Fault
from condition.records.finding import Finding
from condition.records.function_test import FunctionTest
from condition.records.handover import Handover
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.lens import Lens
from condition.records.mark import Mark
from condition.records.money import PriceEntry, ShopMoney
from condition.records.note import Note
from condition.records.part import Evidence, Part
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.placing import PlacedByHand
from condition.records.reader import PaperChoice
from condition.records.reading import Reading, StringSet
from condition.records.return_check import ReturnChange, ReturnCheck, ReturnPair, ReturnVerdict
from condition.records.shop import Shop
from condition.records.stamp import Stamp
from condition.records.strip_down import Bag, StripDownStep
from condition.records.task import Task
from condition.records.treatment import Treatment
from condition.records.view import View


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record and the table it stands in.

    references : fields that hold the id of another record
    unique : groups of fields no two records share
    order : the order records are found in; after these, the order they were first put in
    never_lower : counters that a put may raise, never lower
    """

    record: type
    references: dict[str, type] = field(default_factory=dict)
    unique: tuple[tuple[str, ...], ...] = ()
    order: tuple[str, ...] = ()
    never_lower: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The table's name: the record's, in small letters (``StripDown`` is ``strip_down``)."""
        return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "_", self.record.__name__).lower()


KINDS: tuple[Kind, ...] = (
    Kind(Person, order=("name",)),
    Kind(Instrument, order=("title",)),
    Kind(
        Job,
        references={"instrument_id": Instrument, "client_id": Person},
        unique=(("name",),),
        order=("opened_at", "name"),
        never_lower=("last_finding_number",),
    ),
    Kind(View, references={"job_id": Job, "base_photo_id": Photo}),
    Kind(Photo, references={"job_id": Job, "view_id": View}, order=("sheet_order", "taken_in_at")),
    Kind(Finding, references={"job_id": Job, "view_id": View}, unique=(("job_id", "number"),), order=("number",)),
    Kind(Shop),
    Kind(Lens, unique=(("camera", "lens"),), order=("camera", "lens")),
    Kind(Task, references={"job_id": Job, "view_id": View}, order=("begun_at",)),
    Kind(PaperChoice, references={"job_id": Job}, unique=(("job_id", "reader"),)),
    Kind(BeforeBuying, references={"job_id": Job}, unique=(("job_id",),)),
    Kind(Attachment, references={"job_id": Job}, order=("taken_in_at",)),
    Kind(Note, references={"job_id": Job, "photo_id": Photo}, order=("written_at",)),
    Kind(PhonePass, references={"job_id": Job, "view_id": View}, unique=(("token_sha256",),), order=("opened_at",)),
    Kind(WatchedFolder, references={"job_id": Job, "view_id": View}),
    Kind(ShopMoney),
    Kind(PriceEntry, order=("name",)),
    Kind(Treatment, references={"job_id": Job}, order=("turn",)),
    Kind(Estimate, references={"job_id": Job}, unique=(("job_id", "edition"),), order=("edition",)),
    Kind(Cost, references={"job_id": Job}, order=("day",)),
    Kind(
        Handover,
        references={"job_id": Job, "giver_id": Person, "taker_id": Person, "carrier_id": Person},
        order=("handed_at",),
    ),
    Kind(
        PlacedByHand,
        references={"job_id": Job, "photo_id": Photo, "base_photo_id": Photo},
        unique=(("photo_id",),),
    ),
    Kind(Reading, references={"job_id": Job}),
    Kind(StringSet, references={"job_id": Job}, unique=(("job_id", "occasion"),)),
    Kind(FunctionTest, references={"job_id": Job}, order=("rank",)),
    Kind(Fault, references={"job_id": Job, "finding_id": Finding}, order=("noted_at",)),
    Kind(Stamp, references={"job_id": Job, "photo_id": Photo, "finding_id": Finding}),
    Kind(Bag, references={"job_id": Job}, unique=(("job_id", "number"),), order=("number",)),
    Kind(Part, references={"job_id": Job, "bag_id": Bag}, order=("list_order",)),
    Kind(Evidence, references={"job_id": Job, "part_id": Part, "photo_id": Photo}),
    Kind(StripDownStep, references={"job_id": Job, "photo_id": Photo, "bag_id": Bag}, order=("step_order",)),
    Kind(Mark, references={"photo_id": Photo, "finding_id": Finding}),
    Kind(ReturnCheck, references={"job_id": Job}, unique=(("job_id", "earlier", "later"),), order=("begun_at",)),
    Kind(
        ReturnPair,
        references={
            "job_id": Job,
            "check_id": ReturnCheck,
            "before_id": Photo,
            "after_id": Photo,
            "again_id": Photo,
        },
    ),
    Kind(ReturnChange, references={"job_id": Job, "check_id": ReturnCheck, "pair_id": ReturnPair}),
    Kind(
        ReturnVerdict,
        references={"job_id": Job, "check_id": ReturnCheck},
        unique=(("check_id", "finding_id"),),
    ),
)

_BY_RECORD = {kind.record: kind for kind in KINDS}
_BY_NAME = {kind.name: kind for kind in KINDS}


def kind_of(record: type | Any) -> Kind:
    """Return the kind of a record or a record class.

    Raises
    ------
    TypeError
        The store keeps no such records.
    """
    cls = record if isinstance(record, type) else type(record)
    if cls not in _BY_RECORD:
        raise TypeError(f"the store keeps no {cls.__name__}")
    return _BY_RECORD[cls]


def kind_named(name: str) -> Kind:
    """Return the kind whose table has this name; KeyError when there is none."""
    return _BY_NAME[name]
