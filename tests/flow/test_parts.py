"""The parts list: laid out by the kind of instrument, judged on evidence, left undisturbed by decision."""

from __future__ import annotations

from dataclasses import replace
from uuid import uuid4

import pytest

from condition.errors import Refused
from condition.flow import cautions, parts
from condition.flow.archiving import archive_job, restore_job
from condition.flow.bags import bags_of, begin_bag
from condition.flow.desk import open_desk
from condition.flow.findings import edit_finding, new_finding
from condition.flow.jobs import open_job
from condition.flow.keeping import check
from condition.flow.sheets import condition_sheet
from condition.flow.strip_down import put_back, steps_of, stop_too_fragile, take_off
from condition.records.instrument import Instrument
from condition.records.originality import COUNTED, SIGNS, tally
from condition.records.part import ORIGINALITIES, Evidence, Part
from condition.records.strip_down import Screws
from condition.report.cautions_section import concerned
from condition.report.parts_section import summary_of
from condition.trade.parts import parts_for
from condition.words import say


def named(desk, job, name):
    return parts.part_named(desk, job, name)


def test_the_list_that_fits_is_laid_out_once(desk, job):
    first = parts.lay_out(desk, job)
    assert {part.code for part in first} == {part.code for part in parts_for("mandolin")}
    assert parts.lay_out(desk, job) == first
    assert [part.group for part in first] == sorted(
        (part.group for part in first), key=list(dict.fromkeys(p.group for p in first)).index
    )


def test_a_part_of_its_own_stands_in_the_list_and_a_name_is_used_once(desk, job):
    parts.add_part(desk, job, " buzz  stop ", "bridge")
    assert named(desk, job, "Buzz stop").group == "bridge"
    for name, code in ((" ", "parts.no_name"), ("BUZZ STOP", "parts.name_taken")):
        with pytest.raises(Refused, match=code):
            parts.add_part(desk, job, name)
    with pytest.raises(Refused, match=r"parts\.unknown"):
        named(desk, job, "thumb rest")


def test_a_part_taken_off_the_list_comes_back_with_its_evidence(desk, job):
    nut = parts.add_part(desk, job, "nut")
    parts.add_evidence(desk, nut, kind="wear that matches", words="slots as worn as the frets")
    parts.remove_part(desk, nut)
    assert parts.parts_of(desk, job) == ()
    assert desk.store.find(Evidence, job_id=job.id) == ()
    back = parts.bring_back(desk, nut.id)
    assert [one.words for one in parts.evidence_of(desk, back)] == ["slots as worn as the frets"]


def test_a_part_of_the_log_is_not_taken_off_the_list(desk, job):
    nut = parts.add_part(desk, job, "nut")
    take_off(desk, job, part_ids=[nut.id])
    with pytest.raises(Refused, match=r"parts\.in_log"):
        parts.remove_part(desk, named(desk, job, "nut"))


def test_who_judged_is_noted_with_the_judgement(desk, job):
    nut = parts.add_part(desk, job, "nut")
    assert parts.edit_part(desk, nut, originality="home-made").judged_by == "tester"


def test_where_a_part_is_is_said_in_words(desk, job):
    nut = parts.add_part(desk, job, "nut")
    bag = begin_bag(desk, job, number=3)
    bags = {bag.id: bag}
    for place, more, words in (
        ("bag", {"bag_id": bag.id}, "in bag 3"),
        ("out", {"out_to": "the winder"}, "out to the winder"),
        ("case", {}, "in the case"),
        ("fitted", {}, "fitted"),
    ):
        nut = parts.move(desk, nut, place, **more)
        assert parts.where(nut, bags) == words
    assert nut.bag_id is None
    for place, code in (("bag", "parts.which_bag"), ("out", "parts.out_to_whom")):
        with pytest.raises(Refused, match=code):
            parts.move(desk, nut, place)


def test_left_undisturbed_is_a_decision_with_a_reason_and_can_be_taken_back(desk, job):
    control = parts.add_part(desk, job, "volume control")
    with pytest.raises(Refused, match=r"parts\.no_reason"):
        parts.leave_undisturbed(desk, control, " ")
    control = parts.leave_undisturbed(desk, control, "solder undisturbed")
    finding = new_finding(desk, job, "stain", place="under the bridge")
    edit_finding(desk, _decided(finding))
    left = parts.left_undisturbed(desk, job)
    assert [(one.name, one.number) for one in left] == [("volume control", None), ("under the bridge", 1)]
    assert left[0].by == "tester"
    assert [one.name for one in parts.would_disturb(desk, job, "Replace the volume controls")] == ["volume control"]
    assert [one.number for one in parts.would_disturb(desk, job, finding_id=finding.id)] == [1]
    assert parts.would_disturb(desk, job, "turn the volume down") == ()
    parts.disturb(desk, control)
    assert [one.number for one in parts.left_undisturbed(desk, job)] == [1]


def _decided(finding):
    return replace(finding, decision="left undisturbed", decision_reason="may be the maker's own")


def test_every_state_and_group_of_states_has_word_sign_and_place_in_the_count():
    assert set(SIGNS) == {*ORIGINALITIES, ""}
    assert {state for group in COUNTED for state in group} == set(SIGNS)
    for state in SIGNS:
        assert say(f"parts.state_{state}") != f"parts.state_{state}"
    for group in COUNTED:
        assert say(f"parts.counted_{group[0]}") != f"parts.counted_{group[0]}"
    assert len({(SIGNS[group[0]].symbol) for group in COUNTED}) == len(COUNTED)


def part(name: str, **fields) -> Part:
    return Part(str(uuid4()), "j", name, **fields)


def test_the_summary_counts_what_was_judged_and_says_what_was_not():
    listed = (
        part("top", originality="original"),
        part("nut", originality="home-made"),
        part("pickup", originality="modern"),
        part("saddle", originality="cannot tell"),
        part("neck", observation="straight"),
        part("braces"),
        part("linings"),
    )
    assert tally(listed) == (
        (("original",), 1),
        (("reissue", "modern", "home-made"), 2),
        (("cannot tell",), 1),
        (("",), 3),
    )
    assert summary_of(listed) == (
        "4 of the 7 parts on the list were judged. They are: 1 original, 2 later, 1 can't tell yet. "
        "1 part was looked at and not judged. 2 parts were not examined."
    )


def test_a_list_nobody_worked_on_claims_nothing():
    assert summary_of((part("top"), part("back"))) == (
        "0 of the 2 parts on the list were judged. 2 parts were not examined."
    )


def test_cautions_concern_what_was_recorded(desk, job):
    guard = parts.add_part(desk, job, "guard plate", material="celluloid")
    assert [c.code for c in cautions.for_part(guard)] == ["celluloid"]
    finding = new_finding(desk, job, "finish loss")
    assert "old lacquer" in {c.code for c in cautions.for_finding(finding)}
    assert "string tension" in {c.code for c in cautions.for_step("strings slackened")}
    assert "celluloid" in {c.code for c in cautions.for_step("guard off", (guard,))}
    assert "wood dust" in {c.code for c in cautions.for_treatment("Plug and sand flush")}
    found = {caution.code: names for caution, names in concerned(condition_sheet(desk, job))}
    assert found["celluloid"] == ["guard plate"]
    assert found["old lacquer"] == ["finding 1"]


def test_a_border_concerns_only_what_is_suspected_in_the_instrument(desk, job):
    instrument = desk.store.get(Instrument, job.instrument_id)
    sent = cautions.for_treatment("Send out by courier", instrument=instrument)
    assert sent == ()
    rosewood = replace(instrument, materials="fingerboard suspected rosewood")
    assert [c.code for c in cautions.for_treatment("Send out by courier", instrument=rosewood)] == ["woods at borders"]


def test_the_archive_carries_parts_evidence_bags_and_log_home(desk, job, tmp_path):
    nut = parts.add_part(desk, job, "nut")
    parts.add_evidence(desk, nut, kind="date code", speaks="neither", words="not read")
    step = take_off(desk, job, part_ids=[nut.id], screws=[Screws(2, "ends")], bag_number=4)
    stop_too_fragile(desk, job, "label", "flakes")
    put_back(desk, step, [1])
    bag = archive_job(desk, job, tmp_path / "bag")
    other = open_desk(tmp_path / "other")
    restored = restore_job(other, bag)

    def told(at, about):
        found = (*parts.parts_of(at, about), *bags_of(at, about), *steps_of(at, about))
        return [_without_version(one) for one in (*found, *at.store.find(Evidence, job_id=about.id))]

    assert told(other, restored) == told(desk, job)
    assert len(told(other, restored)) == 6
    assert not check(other.store.folder).problems


def _without_version(record):
    return replace(record, version=0)


def test_parts_of_another_job_stay_out_of_it(desk, job):
    other = open_job(desk, "2026-002", title="Another")
    parts.add_part(desk, other, "nut")
    assert parts.parts_of(desk, job) == ()
