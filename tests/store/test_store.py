import contextlib
import pickle
from dataclasses import replace
from pathlib import Path

import pytest

from condition.errors import InvalidRecord, Refused
from condition.records.finding import Finding
from condition.records.instrument import Instrument
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.person import Person
from condition.records.photo import Photo
from condition.records.view import View
from condition.store import AlreadyDone, Stale, Store
from tests.store.bench_records import found, marked, new, opened_job, taken_in


def test_a_record_comes_back_as_it_was_put_one_version_on(store):
    person = Person(new(), "Marta Quill", note="rings at noon; “ladder” braces, 3/8″")
    with store.write(new(), "Ada") as write:
        stored = write.put(person)
    assert stored == replace(person, version=1)
    assert store.get(Person, person.id) == stored


def test_an_unknown_record_is_refused_by_get_and_none_for_one(store):
    with pytest.raises(Refused, match=r"store\.unknown"):
        store.get(Person, new())
    assert store.one(Person, name="nobody") is None


def test_a_change_from_the_stored_version_is_taken(store):
    finding = found(store, opened_job(store))
    with store.write(new(), "Ada") as write:
        changed = write.put(replace(finding, observation="open 0.2 mm at the bridge"))
    assert changed.version == 2
    assert store.get(Finding, finding.id) == changed


def test_a_change_from_an_older_version_is_refused_and_carries_the_record_as_it_is(store):
    finding = found(store, opened_job(store))
    with store.write(new(), "Ben") as write:
        current = write.put(replace(finding, observation="by the other window"))
    with pytest.raises(Stale) as refusal, store.write(new(), "Ada") as write:
        write.put(replace(finding, observation="mine"))
    assert refusal.value.code == "store.stale"
    assert refusal.value.current == current
    assert refusal.value.values["person"] == "Ben"
    assert pickle.loads(pickle.dumps(refusal.value)).current == current
    assert store.get(Finding, finding.id) == current


def test_a_record_put_twice_as_new_is_stale_not_doubled(store):
    job = opened_job(store)
    finding = found(store, job)
    with pytest.raises(Stale), store.write(new(), "Ada") as write:
        write.put(replace(finding, version=0))
    assert store.find(Finding, job_id=job.id) == (finding,)


def test_a_version_that_never_was_is_refused(store):
    with pytest.raises(Refused, match=r"store\.unknown"), store.write(new(), "Ada") as write:
        write.put(Person(new(), "Marta Quill", version=3))


def test_nothing_of_an_operation_is_kept_when_one_step_is_refused(store):
    job = opened_job(store)
    finding = found(store, job)
    operation = new()

    def put_both():
        with store.write(operation, "Ada") as write:
            write.put(Person(new(), "Marta Quill"))
            write.put(replace(finding, version=7))

    with pytest.raises(Stale):
        put_both()
    assert store.find(Person) == ()
    assert store.answered(operation) is None


def test_a_refusal_that_is_caught_still_spoils_the_operation(store):
    job = opened_job(store)

    def go_on_after_a_refusal():
        with store.write(new(), "Ada") as write:
            instrument = write.put(Instrument(new(), "mandolin"))
            with contextlib.suppress(Refused):
                write.put(Job(new(), job.name, instrument.id))

    with pytest.raises(Refused, match=r"store\.name_taken"):
        go_on_after_a_refusal()
    assert [i.title for i in store.find(Instrument)] == ["small parlour guitar, ladder braced"]


def test_an_error_of_the_caller_passes_as_it_is_and_keeps_nothing(store):
    def read_a_missing_file():
        with store.write(new(), "Ada") as write:
            write.put(Person(new(), "Marta Quill"))
            Path("/no/such/file").read_bytes()

    with pytest.raises(FileNotFoundError):
        read_a_missing_file()
    assert store.find(Person) == ()


def test_two_jobs_of_one_name_are_refused(store):
    job = opened_job(store, "B-7")
    with pytest.raises(Refused, match="B-7") as refusal, store.write(new(), "Ada") as write:
        write.put(Job(new(), "B-7", job.instrument_id))
    assert refusal.value.code == "store.name_taken"


def test_a_job_may_be_put_before_its_instrument_but_not_without_it(store):
    instrument = Instrument(new(), "mandolin")
    with store.write(new(), "Ada") as write:
        write.put(Job(new(), "B-1", instrument.id))
        write.put(instrument)
    with pytest.raises(Refused, match=r"store\.missing_reference"), store.write(new(), "Ada") as write:
        write.put(Job(new(), "B-2", new()))
    assert [job.name for job in store.find(Job)] == ["B-1"]


def test_a_reference_changed_to_nothing_is_refused(store):
    job = opened_job(store)
    with pytest.raises(Refused, match=r"store\.missing_reference"), store.write(new(), "Ada") as write:
        write.put(replace(job, client_id=new()))
    assert store.get(Job, job.id) == job


def test_a_photo_and_the_view_drawn_on_it_may_refer_to_each_other(store):
    job = opened_job(store)
    view_id = new()
    photo = taken_in(store, job)
    with store.write(new(), "Ada") as write:
        photo = write.put(replace(photo, view_id=view_id))
        write.put(View(view_id, job.id, "front", base_photo_id=photo.id))
    assert store.one(Photo, view_id=view_id) == photo


def test_a_record_others_refer_to_is_not_removed(store):
    job = opened_job(store)
    finding = found(store, job)
    mark = marked(store, taken_in(store, job), finding)
    with pytest.raises(Refused, match=r"store\.in_use"), store.write(new(), "Ada") as write:
        write.remove(finding)
    with store.write(new(), "Ada") as write:
        write.remove(finding)
        write.remove(mark)
    assert store.find(Finding) == store.find(Mark) == ()


def test_a_removed_record_is_kept_in_the_log_and_comes_back_one_version_on(store):
    finding = found(store, opened_job(store), observation="ends at the purfling")
    with store.write(new(), "Ada") as write:
        write.remove(finding)
    assert store.history(finding.id)[-1].after is None
    with store.write(new(), "Ben") as write:
        back = write.restore(Finding, finding.id)
    assert back == replace(finding, version=2)
    assert store.get(Finding, finding.id) == back


def test_a_change_to_a_removed_record_does_not_bring_it_back(store):
    finding = found(store, opened_job(store))
    with store.write(new(), "Ben") as write:
        write.remove(finding)
    for late in (finding, replace(finding, version=0)):
        with pytest.raises(Stale) as refusal, store.write(new(), "Ada") as write:
            write.put(late)
        assert (refusal.value.code, refusal.value.current) == ("store.removed", None)


def test_a_change_made_before_a_removal_is_stale_after_the_record_came_back(store):
    finding = found(store, opened_job(store))
    with store.write(new(), "Ben") as write:
        write.remove(finding)
    with store.write(new(), "Ben") as write:
        write.restore(Finding, finding.id)
    with pytest.raises(Stale), store.write(new(), "Ada") as write:
        write.put(finding)


def test_what_was_not_removed_cannot_be_restored(store):
    finding = found(store, opened_job(store))
    for record, record_id in ((Finding, finding.id), (Finding, new()), (Mark, finding.id)):
        with pytest.raises(Refused, match=r"store\.not_removed"), store.write(new(), "Ada") as write:
            write.restore(record, record_id)


def test_removing_from_an_older_version_is_refused(store):
    finding = found(store, opened_job(store))
    with store.write(new(), "Ben") as write:
        write.put(replace(finding, place="lower bout"))
    with pytest.raises(Stale), store.write(new(), "Ada") as write:
        write.remove(finding)


def test_numbers_rise_from_one_in_each_job(store):
    first, second = opened_job(store, "B-1"), opened_job(store, "B-2")
    assert [found(store, first).number for _ in range(3)] == [1, 2, 3]
    assert found(store, second).number == 1


def test_a_number_is_not_used_again_after_its_finding_was_removed(store):
    job = opened_job(store)
    found(store, job)
    last = found(store, job)
    with store.write(new(), "Ada") as write:
        write.remove(last)
    assert found(store, job).number == 3
    with pytest.raises(Refused, match=r"store\.number_used"), store.write(new(), "Ada") as write:
        write.put(Finding(new(), job.id, 2, "dent"))


def test_a_number_given_from_outside_moves_the_next_one_on(store):
    job = opened_job(store)
    with store.write(new(), "Ada") as write:
        write.put(Finding(new(), job.id, 12, "dent"))
        assert write.next_number(job) == 13
    assert store.get(Job, job.id).last_finding_number == 13


def test_numbers_go_on_after_findings_that_were_put_before_their_job(store):
    instrument = Instrument(new(), "mandolin")
    job = Job(new(), "B-1", instrument.id)
    with store.write(new(), "Ada") as write:
        write.put(Finding(new(), job.id, 5, "dent"))
        write.put(instrument)
        job = write.put(job)
    assert found(store, job).number == 6


def test_a_number_handed_out_and_not_used_is_not_handed_out_again(store):
    job = opened_job(store)
    with store.write(new(), "Ada") as write:
        assert [write.next_number(job), write.next_number(job)] == [1, 2]
    assert found(store, job).number == 3


def test_taking_numbers_does_not_make_an_edit_of_the_job_stale_and_the_edit_does_not_lower_them(store):
    job = opened_job(store)
    found(store, job)
    with store.write(new(), "Ada") as write:
        edited = write.put(replace(job, summary="sound, two old cracks"))
    assert (edited.summary, edited.last_finding_number) == ("sound, two old cracks", 1)
    assert found(store, job).number == 2


def test_findings_come_by_number_and_photos_by_their_place_on_the_sheet(store):
    job = opened_job(store)
    with store.write(new(), "Ada") as write:
        for number in (3, 1, 2):
            write.put(Finding(new(), job.id, number, "dent"))
    placed = [(2, "2024-03-01T09:00:00Z"), (1, "2024-03-01T11:00:00Z"), (1, "2024-03-01T10:00:00Z")]
    for order, time in placed:
        taken_in(store, job, sheet_order=order, taken_in_at=time)
    assert [f.number for f in store.find(Finding, job_id=job.id)] == [1, 2, 3]
    assert [(p.sheet_order, p.taken_in_at) for p in store.find(Photo)] == sorted(placed)


def test_marks_come_in_the_order_they_were_drawn_also_after_one_came_back(store):
    photo = taken_in(store, opened_job(store))
    marks = [marked(store, photo) for _ in range(3)]
    with store.write(new(), "Ada") as write:
        write.remove(marks[0])
    with store.write(new(), "Ada") as write:
        write.restore(Mark, marks[0].id)
    assert [m.id for m in store.find(Mark)] == [m.id for m in marks]


def test_records_are_found_by_one_value_by_several_and_by_none(store):
    job = opened_job(store)
    photo, other = (taken_in(store, job, occasion=occasion) for occasion in ("intake", "back"))
    assert store.find(Photo, occasion="back") == (other,)
    assert store.find(Photo, job_id=job.id, occasion=["intake", "out"]) == (photo,)
    assert store.find(Photo, view_id=None, id=photo.id) == (photo,)
    assert store.find(Photo, occasion=()) == ()


def test_asking_by_a_field_that_is_none_of_the_record_s_is_a_defect(store):
    with pytest.raises(TypeError, match="colour"):
        store.find(Photo, colour="red")


def test_one_of_several_is_a_defect(store):
    job = opened_job(store)
    found(store, job)
    found(store, job)
    with pytest.raises(ValueError, match="2 records"):
        store.one(Finding, job_id=job.id)


def test_a_repeated_operation_is_answered_again_and_not_done_again(store):
    operation, person = new(), Person(new(), "Marta Quill")
    with store.write(operation, "Ada") as write:
        write.put(person)
        write.answer({"id": person.id, "tries": [1, 2.5, None]})
    with pytest.raises(AlreadyDone) as before, store.write(operation, "Ada") as write:
        write.put(Person(new(), "Marta Quill"))
    assert before.value.answer == {"id": person.id, "tries": [1, 2.5, None]} == store.answered(operation)
    assert len(store.find(Person)) == 1


def test_once_does_an_operation_one_time_and_gives_its_answer_each_time(store):
    operation, calls = new(), []

    def change(write):
        calls.append(write.put(Person(new(), "Marta Quill")))
        return {"version": calls[-1].version}

    assert store.once(operation, "Ada", change) == store.once(operation, "Ada", change) == {"version": 1}
    assert len(calls) == len(store.find(Person)) == 1


def test_an_operation_without_an_answer_is_known_as_done(store):
    operation = new()
    assert store.answered(operation) is None
    with store.write(operation, "Ada"):
        pass
    assert store.answered(operation) == {}


@pytest.mark.parametrize("text", ["", "12", "B-101", "{6ba7b810-9dad-11d1-80b4-00c04fd430c8}", None])
def test_an_id_that_is_no_uuid_is_refused(store, text):
    with pytest.raises(InvalidRecord), store.write(new(), "Ada") as write:
        write.put(Person(text, "Marta Quill"))
    with pytest.raises(InvalidRecord), store.write(text, "Ada"):
        pass


def test_an_answer_json_cannot_hold_keeps_nothing(store):
    def answer_nan():
        with store.write(new(), "Ada") as write:
            write.put(Person(new(), "Marta Quill"))
            write.answer({"length": float("nan")})

    with pytest.raises(ValueError, match="JSON"):
        answer_nan()
    assert store.find(Person) == ()


def test_a_write_inside_a_write_is_a_defect_and_not_a_wait(store):
    with store.write(new(), "Ada"), pytest.raises(RuntimeError), store.write(new(), "Ada"):
        pass


def test_what_is_written_is_seen_inside_the_operation_and_outside_only_after_it(store):
    person = Person(new(), "Marta Quill")
    with store.write(new(), "Ada") as write:
        write.put(person)
        assert write.get(Person, person.id).name == "Marta Quill"
        assert write.find(Person) == (write.one(Person, name="Marta Quill"),)
        assert store.find(Person) == ()
    assert len(store.find(Person)) == 1


def test_the_store_opened_again_holds_what_was_put(store, folder):
    finding = found(store, opened_job(store))
    store.close()
    with Store.open(folder) as again:
        assert again.get(Finding, finding.id) == finding
