"""The return check: photos of a later handover laid over those of an earlier one, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from condition.records.measurement import Measurement
from condition.records.photo import Occasion
from condition.records.shapes import Ring
from condition.records.task import Told

OCCASIONS: tuple[Occasion, ...] = ("intake", "out", "back", "returned")
"""Handovers in the order of a job; any can be compared with any later one."""

Declared = Literal["new strings", "strings off", "top cleaned", "part swapped", "other"]
PairState = Literal["proposed", "waiting", "compared", "refused"]
ChangeDecision = Literal["open", "accepted", "explained", "dismissed"]
Verdict = Literal["repaired", "as it was", "better", "worse", "not seen"]
Confirmed = Literal["", "repaired", "as it was", "better", "worse", "not seen"]
VERDICTS: tuple[Verdict, ...] = ("repaired", "as it was", "better", "worse", "not seen")


@dataclass(frozen=True, slots=True)
class DeclaredRegion:
    """ring_px : upright pixels of the earlier photo"""

    photo_id: str
    ring_px: Ring


@dataclass(frozen=True, slots=True)
class DeclaredChange:
    """What was done on purpose and explains changes: where (no regions: the whole instrument), and in words."""

    id: str
    what: Declared
    words: str = ""
    regions: tuple[DeclaredRegion, ...] = ()


@dataclass(frozen=True, slots=True)
class PhotoLink:
    """Two earlier photos of one face: 3 x 3 row by row, from upright pixels of one to those of the other."""

    from_id: str
    to_id: str
    homography: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ReturnCheck:
    """One comparison of two handovers of a job.

    pairing : whether pairs are being looked for (``waiting``), so that a killed program goes on with it
    links : which earlier photos show the same places, so that a change seen twice is told once
    not_compared : what the examiner says could not be compared, beside what the program lists itself
    """

    id: str
    job_id: str
    earlier: Occasion = "intake"
    later: Occasion = "returned"
    declared: tuple[DeclaredChange, ...] = ()
    links: tuple[PhotoLink, ...] = ()
    pairing: Literal["", "waiting", "done"] = ""
    not_compared: str = ""
    words: str = ""
    begun_at: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class PlaceFound:
    """What the later photo shows at one mark of a finding.

    ring_before_px, ring_after_px : the surface judged, in upright pixels of the earlier and the later photo
    unseen : why the two photos do not both show it, empty when they do
    changed, reason, delta_e, score, share : as :class:`condition.flow.comparing.PlaceSeen`
    depth_before, depth_after : how much darker the mark's inside is than the surface beside it, in L*
    open_share : of a line's length that is still as dark as half of what it was, 0..1; None for other shapes
    size_after : what the program measured anew of a round hole on the later photo, when it found it
    """

    mark_id: str
    finding_id: str
    ring_before_px: Ring
    ring_after_px: Ring
    unseen: str = ""
    changed: bool = False
    reason: str = ""
    delta_e: float = 0.0
    score: float = 0.0
    share: float = 0.0
    depth_before: float | None = None
    depth_after: float | None = None
    open_share: float | None = None
    size_after: Measurement | None = None


@dataclass(frozen=True, slots=True)
class ReturnPair:
    """A later photo and the earlier one it is compared with; ``again_id`` is a second later photo, lamp moved.

    likeness : features of both that agree, when the program proposed the pair
    refused : why the two do not go together
    homography : 3 x 3 row by row, from upright pixels of the earlier photo to those of the later one
    tone : for each of red, green, blue (slope, offset): ln earlier = slope ln later + offset, in linear light
    residual_px : what the smooth fit leaves, rms; overlap, share : of the earlier photo that the later one shows, and
        that was compared
    """

    id: str
    job_id: str
    check_id: str
    before_id: str
    after_id: str
    again_id: str | None = None
    confirmed: bool = False
    likeness: int = 0
    state: PairState = "proposed"
    refused: Told = ("", ())
    homography: tuple[float, ...] = ()
    tone: tuple[tuple[float, float], ...] = ()
    residual_px: float = 0.0
    overlap: float = 0.0
    share: float = 0.0
    advice: tuple[Told, ...] = ()
    places: tuple[PlaceFound, ...] = ()
    compared_at: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class ReturnChange:
    """One change found on a pair, or what seems one.

    sureness : largest departure, in standard deviations of the pair's noise
    reason : code of the reason why it may be none (``reflection``, ``shadow`` ...), empty when it is sure
    lighter : by how much the inside became lighter against the surface beside it, L*
    touches : ids of the findings whose marks it touches
    same_as : id of the change on another pair that shows the same place
    decision : ``accepted`` as the finding ``finding_id``, ``explained`` by the declared change ``declared_id`` or in
        words, ``dismissed`` with a reason in words, or ``open``
    decided_by : the person, or ``program`` when a declared change explains it
    """

    id: str
    job_id: str
    check_id: str
    pair_id: str
    ring_before_px: Ring
    ring_after_px: Ring
    delta_e: float = 0.0
    sureness: float = 0.0
    reason: str = ""
    area: Measurement | None = None
    lighter: float = 0.0
    touches: tuple[str, ...] = ()
    same_as: str = ""
    decision: ChangeDecision = "open"
    words: str = ""
    declared_id: str = ""
    finding_id: str = ""
    decided_by: str = ""
    decided_at: str = ""
    version: int = 0


@dataclass(frozen=True, slots=True)
class ReturnVerdict:
    """What became of one finding: proposed by the program, confirmed or overruled by a person.

    why : catalogue codes and their values that say what the proposal rests on
    before, after : the measurement that decides, on either side, where there is one
    exceeds : whether the two differ by more than their ± together; None when one is missing
    pair_id : the pair the proposal rests on
    confirmed : the person's verdict, empty while it is only proposed; ``words`` why, when it differs
    """

    id: str
    job_id: str
    check_id: str
    finding_id: str
    proposed: Verdict = "not seen"
    why: tuple[Told, ...] = ()
    before: Measurement | None = None
    after: Measurement | None = None
    exceeds: bool | None = None
    pair_id: str = ""
    confirmed: Confirmed = ""
    words: str = ""
    confirmed_by: str = ""
    confirmed_at: str = ""
    version: int = 0

    @property
    def verdict(self) -> Verdict:
        """The person's verdict, or the program's proposal while nobody has said."""
        return self.confirmed or self.proposed
