"""The work of a return check, done in the background: pairs are looked for and compared one by one.

Pairs that wait are the stored work: a killed program goes on with them.
"""

from __future__ import annotations

import threading
from concurrent.futures import Future
from dataclasses import dataclass, replace

from condition.errors import ConditionError, Refused
from condition.flow.desk import Desk, new_id, utc_now
from condition.flow.marked import OUTLINE
from condition.flow.pool import WorkerFailed, shared
from condition.flow.return_changes import explain_again, explained_by, joined, surface_of, touched
from condition.flow.return_check import edit_check, pairs_of, photos_of, unpaired
from condition.flow.return_verdicts import propose_again
from condition.flow.return_work import MarkAsked, PairAsked, PairFound, likenesses, linked, look_at
from condition.records.finding import Finding
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.return_check import PhotoLink, ReturnChange, ReturnCheck, ReturnPair
from condition.records.shapes import Ring

SECONDS_A_PAIR = 600.0
"""A 12 MP pair takes some 15 s of work on one core; the rest is for a busy machine."""
FEWEST_ALIKE = 25
"""Features two photos must share to be proposed; real pairs with fewer ended several pixels off."""
SAME_FACE_BONUS = 3.0
"""A photo of the same face is preferred to one that shares up to three times as many features."""
KEPT_DECISION = 0.3
"""Least overlap for a change that was found again to keep what was decided of it."""

_running: dict[str, threading.Thread] = {}
_stop: set[str] = set()
_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class Progress:
    """doing : ``pairing``, ``comparing`` or nothing; done, total : pairs compared of those asked for"""

    doing: str
    done: int
    total: int


def begin_pairing(desk: Desk, check: ReturnCheck) -> None:
    """Look for the pairs in the background.

    Raises
    ------
    Refused
        ``return.no_earlier``, ``return.no_later``: there are no photos of one of the handovers.
    """
    _require_photos(desk, check)
    _run(desk, edit_check(desk, check, pairing="waiting"))


def pair_now(desk: Desk, check: ReturnCheck) -> tuple[ReturnPair, ...]:
    """Look for the pairs and return all there are."""
    _require_photos(desk, check)
    _pair(desk, edit_check(desk, check, pairing="waiting"))
    return pairs_of(desk, check)


def begin_comparing(desk: Desk, check: ReturnCheck, *, anew: bool = False) -> None:
    """Compare every confirmed pair that was not compared yet (``anew``: all of them), in the background.

    Raises
    ------
    Refused
        ``return.no_pair``: none is confirmed.
    """
    _ask_for(desk, check, anew)
    _run(desk, check)


def compare_now(desk: Desk, check: ReturnCheck, *, anew: bool = False) -> tuple[ReturnChange, ...]:
    """As :func:`begin_comparing`, and wait for it; return all changes."""
    _ask_for(desk, check, anew)
    _compare(desk, check)
    return desk.store.find(ReturnChange, check_id=check.id)


def stop(desk: Desk, check: ReturnCheck) -> None:
    """Stop after the pairs that are being compared; the others are left as they were."""
    _stop.add(check.id)


def progress(desk: Desk, check: ReturnCheck) -> Progress:
    """Return how far the check is, whoever works at it."""
    now = desk.store.get(ReturnCheck, check.id)
    if now.pairing == "waiting":
        return Progress("pairing", 0, 1)
    asked = [pair for pair in pairs_of(desk, check) if pair.confirmed]
    waiting = sum(pair.state == "waiting" for pair in asked)
    return Progress("comparing" if waiting else "", len(asked) - waiting, len(asked))


def resume(desk: Desk) -> None:
    """Go on with the checks that a kill or a stop of the program left unfinished."""
    ids = {check.id for check in desk.store.find(ReturnCheck, pairing="waiting")}
    ids |= {pair.check_id for pair in desk.store.find(ReturnPair, state="waiting")}
    for check_id in ids:
        _run(desk, desk.store.get(ReturnCheck, check_id))


def _run(desk: Desk, check: ReturnCheck) -> None:
    with _lock:
        if check.id in _running and _running[check.id].is_alive():
            return
        _stop.discard(check.id)
        _running[check.id] = threading.Thread(target=_work_off, args=(desk, check.id), daemon=True)
        _running[check.id].start()


def _work_off(desk: Desk, check_id: str) -> None:
    check = desk.store.get(ReturnCheck, check_id)
    if check.pairing == "waiting":
        _pair(desk, check)
    while any(pair.state == "waiting" for pair in pairs_of(desk, check)):
        _compare(desk, check)


def _require_photos(desk: Desk, check: ReturnCheck) -> None:
    earlier, later = photos_of(desk, check)
    if not earlier:
        raise Refused("return.no_earlier")
    if not later:
        raise Refused("return.no_later")


def _pair(desk: Desk, check: ReturnCheck) -> None:
    """Propose pairs for the later photos that have none: by face and by how much of the pictures agrees."""
    earlier, _ = photos_of(desk, check)
    _, later = unpaired(desk, check)
    paths = tuple(str(desk.store.vault.path(photo.sha256)) for photo in earlier)
    wanted = tuple(str(desk.store.vault.path(photo.sha256)) for photo in later)
    seconds = SECONDS_A_PAIR + 5.0 * len(paths) * len(wanted)
    try:
        alike = shared().submit(likenesses, paths, wanted, seconds=seconds).result() if later else ()
        links = shared().submit(linked, paths, _faces(earlier), seconds=seconds).result()
    except (ConditionError, WorkerFailed):
        edit_check(desk, check, pairing="")
        return
    with desk.store.write(new_id(), desk.person) as work:
        for photo, row in zip(later, alike, strict=True):
            best = max(range(len(row)), key=lambda k: row[k] * _bonus(photo, earlier[k]), default=None)
            if best is not None and row[best] >= FEWEST_ALIKE:
                pair = ReturnPair(new_id(), check.job_id, check.id, earlier[best].id, photo.id, likeness=row[best])
                work.put(pair)
    told = tuple(PhotoLink(earlier[i].id, earlier[j].id, homography) for i, j, homography in links)
    edit_check(desk, check, pairing="done", links=told)


def _bonus(after: Photo, before: Photo) -> float:
    if after.view_id is None or before.view_id is None:
        return 1.0
    return SAME_FACE_BONUS if after.view_id == before.view_id else 1.0


def _faces(photos: tuple[Photo, ...]) -> tuple[tuple[int, int], ...]:
    """Which two photos may show the same places: those of one face."""
    return tuple(
        (i, j)
        for i, one in enumerate(photos)
        for j, other in enumerate(photos)
        if i < j and one.view_id is not None and one.view_id == other.view_id
    )


def _ask_for(desk: Desk, check: ReturnCheck, anew: bool) -> None:
    _stop.discard(check.id)
    with desk.store.write(new_id(), desk.person) as work:
        confirmed = [pair for pair in work.find(ReturnPair, check_id=check.id) if pair.confirmed]
        if not confirmed:
            raise Refused("return.no_pair")
        for pair in confirmed:
            if anew or pair.state in ("proposed", "refused"):
                work.put(replace(pair, state="waiting"))


def _compare(desk: Desk, check: ReturnCheck) -> None:
    check = desk.store.get(ReturnCheck, check.id)
    waiting = [pair for pair in pairs_of(desk, check) if pair.state == "waiting"]
    answers = [(pair, _submit(desk, check, pair)) for pair in waiting]
    for pair, answer in answers:
        if check.id in _stop and answer.cancel():
            _put_state(desk, pair.id, "proposed")
            continue
        try:
            _keep(desk, check, pair, answer.result())
        except ConditionError as refusal:
            _put_state(desk, pair.id, "refused", refusal.told)
        except WorkerFailed as defect:
            _put_state(desk, pair.id, "refused", ("return.defect", (("why", str(defect).strip()),)))
    _stop.discard(check.id)
    _join(desk, check)
    explain_again(desk, check)
    propose_again(desk, check)


def _put_state(desk: Desk, pair_id: str, state: str, refused: tuple = ("", ())) -> None:
    with desk.store.write(new_id(), desk.person) as work:
        pair = work.one(ReturnPair, id=pair_id)
        if pair is not None:
            work.put(replace(pair, state=state, refused=refused))


def _submit(desk: Desk, check: ReturnCheck, pair: ReturnPair) -> Future:
    before, after = desk.store.get(Photo, pair.before_id), desk.store.get(Photo, pair.after_id)
    again = desk.store.get(Photo, pair.again_id) if pair.again_id else None
    kinds = {finding.id: finding.kind for finding in desk.store.find(Finding, job_id=check.job_id)}
    marks = desk.store.find(Mark, photo_id=before.id)
    outline = next((mark.shape_px for mark in marks if mark.role == OUTLINE), None)
    asked = PairAsked(
        str(desk.store.vault.path(before.sha256)),
        str(desk.store.vault.path(after.sha256)),
        str(desk.store.vault.path(again.sha256)) if again else None,
        before.focal_35mm,
        before.plane,
        after.plane,
        outline,
        _left_aside(check, before.id),
        tuple(
            MarkAsked(mark.id, mark.finding_id, kinds[mark.finding_id], mark.shape_px)
            for mark in marks
            if mark.finding_id
        ),
        tuple((one.cards if one else ()) or None for one in (before, after, again)),
    )
    return shared().submit(look_at, asked, seconds=SECONDS_A_PAIR, file=after.file_name)


def _left_aside(check: ReturnCheck, photo_id: str) -> tuple[Ring, ...]:
    """Strings that one of the photos does not have take no part."""
    return tuple(
        region.ring_px
        for one in check.declared
        if one.what == "strings off"
        for region in one.regions
        if region.photo_id == photo_id
    )


def _keep(desk: Desk, check: ReturnCheck, pair: ReturnPair, found: PairFound) -> None:
    before = desk.store.get(Photo, pair.before_id)
    marks = _early_marks(desk, check)
    changes = []
    for one in found.changes:
        change = ReturnChange(
            new_id(), check.job_id, check.id, pair.id, one.ring_before_px, one.ring_after_px, one.delta_e,
            one.sureness, one.reason, one.area, one.lighter, touched(one.ring_before_px, before.id, marks, check.links),
        )  # fmt: skip
        declared = explained_by(change, check.declared, before)
        if declared:
            change = replace(
                change, decision="explained", declared_id=declared, decided_by="program", decided_at=utc_now()
            )
        changes.append(change)
    with desk.store.write(new_id(), desk.person) as work:
        now = work.one(ReturnPair, id=pair.id)
        if now is None:
            return
        old = work.find(ReturnChange, pair_id=pair.id)
        decided = [one for one in old if one.decided_by not in ("", "program")]
        kept = [_decided_before(change, decided) for change in changes]
        ids = {one.id for one in kept}
        for one in old:
            if one.id not in ids:
                work.remove(one)
        work.put(
            replace(
                now, state="compared", refused=("", ()), homography=found.homography, tone=found.tone,
                residual_px=found.residual_px, overlap=found.overlap, share=found.share, advice=found.advice,
                places=found.places, compared_at=utc_now(),
            )
        )  # fmt: skip
        for one in kept:
            work.put(one)


def _decided_before(change: ReturnChange, decided: list[ReturnChange]) -> ReturnChange:
    """A change that was found before keeps its id and what a person decided of it."""
    area = surface_of(change.ring_before_px)
    for k, one in enumerate(decided):
        other = surface_of(one.ring_before_px)
        if area.intersection(other).area > KEPT_DECISION * area.union(other).area:
            decided.pop(k)
            return replace(
                change, id=one.id, version=one.version, decision=one.decision, words=one.words,
                finding_id=one.finding_id, declared_id="", decided_by=one.decided_by, decided_at=one.decided_at,
            )  # fmt: skip
    return change


def _early_marks(desk: Desk, check: ReturnCheck) -> tuple[Mark, ...]:
    earlier, _ = photos_of(desk, check)
    ids = [photo.id for photo in earlier]
    return desk.store.find(Mark, photo_id=ids, role="finding") if ids else ()


def _join(desk: Desk, check: ReturnCheck) -> None:
    """Tell a change that two pairs show as one."""
    pairs = {pair.id: pair for pair in pairs_of(desk, check)}
    found = sorted(desk.store.find(ReturnChange, check_id=check.id), key=lambda one: (bool(one.reason), -one.sureness))
    now = {one.id: one for one in joined(found, pairs, check.links)}
    changed = [now[one.id] for one in found if now[one.id] != one]
    if changed:
        with desk.store.write(new_id(), desk.person) as work:
            for one in changed:
                work.put(one)
