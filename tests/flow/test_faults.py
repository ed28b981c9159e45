"""Faults, function tests and stamps: kept, done again on return, carried by archive and restore."""

from __future__ import annotations

import io
import wave
from dataclasses import replace

import pytest

from condition.errors import Refused
from condition.flow.archiving import archive_job, restore_job, verify
from condition.flow.attachments import bytes_of
from condition.flow.codes import decoded_for, note_stamp, stamps_of
from condition.flow.desk import Desk
from condition.flow.faults import (
    KINDS,
    TRIES,
    add_sound,
    add_try,
    edit_fault,
    faults_of,
    note_fault,
    remove_fault,
    retest_open,
    set_try,
    sound_kind,
    sounds_of,
)
from condition.flow.function_test import add_test, lay_out, listed, tried
from condition.flow.jobs import describe, job_card
from condition.flow.readings import readings_of, type_coil, type_reading
from condition.flow.strings import keep_strings, strings_at
from condition.flow.undo import put_back
from condition.records.fault import Fault
from condition.records.reading import Coil, StringSet
from condition.store import Store
from condition.words import say


def tone(seconds: float = 0.05) -> bytes:
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(8000)
        sound.writeframes(b"\x00\x10" * int(8000 * seconds))
    return buffer.getvalue()


def test_a_fault_is_retested_with_the_same_tests(desk, job):
    fault = note_fault(desk, job, "cuts out", heard_when="when the lead is moved")
    assert [one.what for one in fault.tries] == list(TRIES["cuts out"])
    fault = set_try(desk, fault, 0, effect="no change")
    fault = set_try(desk, fault, 5, effect="starts it", words="at the jack plate")
    assert retest_open(fault) == ("swap the cable", "move the lead")
    fault = set_try(desk, fault, 0, again="no change")
    fault = edit_fault(desk, replace(set_try(desk, fault, 5, again="no change"), retest="gone"))
    assert retest_open(fault) == ()
    assert fault.retested_at


def test_a_new_kind_keeps_what_was_tried(desk, job):
    fault = set_try(desk, note_fault(desk, job, "hum"), 1, effect="no change")
    fault = edit_fault(desk, replace(fault, kind="squeal"))
    assert fault.tries[0].what == "swap the cable"
    assert fault.tries[0].effect == "no change"
    assert {one.what for one in fault.tries} == set(TRIES["squeal"])
    fault = add_try(desk, fault, "Another amplifier")
    assert fault.tries[-1].what == "Another amplifier"
    with pytest.raises(Refused, match=r"faults\.no_try"):
        add_try(desk, fault, " ")


def test_a_removed_fault_comes_back(desk, job):
    fault = note_fault(desk, job, "hum")
    remove_fault(desk, fault)
    assert faults_of(desk, job) == ()
    assert put_back(desk, Fault, fault.id).kind == "hum"


def test_every_test_and_kind_has_its_words():
    for kind in KINDS:
        code = f"faults.kind_{kind.replace(' ', '_')}"
        assert say(code) != code
        for what in TRIES[kind]:
            code = f"faults.try_{what.replace(' ', '_')}"
            assert say(code) != code


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "wav"), (b"ID3\x04\x00", "mp3"), (b"\xff\xfb\x90\x00", "mp3"),
        (b"\xff\xf1\x50\x80", "aac"), (b"\x00\x00\x00\x20ftypM4A ", "mp4"), (b"OggS\x00\x02", "ogg"),
        (b"fLaC\x00\x00", "flac"), (b"\x1aE\xdf\xa3\x01", "webm"), (b"\xff\xd8\xff\xe0", None), (b"PK\x03\x04", None),
        (b"", None), (b"\xff", None), (b"<html>", None),
    ],
)  # fmt: skip
def test_sounds_are_told_by_their_first_bytes(head, kind):
    """Magic numbers: RIFF/WAVE, MPEG-1/2 audio sync (ISO/IEC 11172-3), ADTS (13818-7), ISO 14496-12, RFC 3533, FLAC."""
    assert sound_kind(head) == kind


def test_a_picture_is_no_sound(desk, job):
    with pytest.raises(Refused, match=r"faults\.no_sound"):
        add_sound(desk, job, note_fault(desk, job, "hum"), "hum.wav", b"\xff\xd8\xff\xe0 a photo")


def test_the_function_test_is_laid_out_once_and_again_on_return(desk, job):
    count = lay_out(desk, job)
    assert count == len(listed(desk, job, "intake")) == 9
    assert lay_out(desk, job) == 0
    extra = add_test(desk, job, "control", "Blend")
    kept = tried(desk, extra, "noisy", "in the upper half")
    assert (kept.result, kept.note, bool(kept.tried_at)) == ("noisy", "in the upper half", True)
    assert lay_out(desk, job, "returned") == 10
    assert {t.result for t in listed(desk, job, "returned")} == {"not tried"}


def test_an_electric_has_switch_controls_and_jack(desk, job):
    lay_out(desk, job, electric=True)
    assert {t.group for t in listed(desk, job, "intake")} == {"switch", "control", "jack", "tuner", "truss rod"}


def test_a_code_left_unread_is_a_full_answer(desk, job):
    """TP-3: taking a part out to read its code can destroy evidence."""
    stamp = note_stamp(desk, job, "volume control", "source date", left_unread=True, reason="solder undisturbed")
    assert stamps_of(desk, job) == (stamp,)
    assert decoded_for(desk, job, stamp) is None
    with pytest.raises(Refused, match=r"codes\.no_reason"):
        note_stamp(desk, job, "tone control", "source date", left_unread=True)
    with pytest.raises(Refused, match=r"codes\.no_part"):
        note_stamp(desk, job, "", "words", "41")


def test_a_code_against_the_claimed_year(desk, job):
    """EL-63 and EL-66: the decade stays open, and a date says no more than 'not made before'."""
    card = job_card(desk, job)
    describe(desk, job, replace(card.instrument, claimed_year="1978"), None)
    found = decoded_for(desk, job, note_stamp(desk, job, "tone control", "source date", "137634"))
    assert [code for code, _ in found.besides] == ["codes.decade_open", "codes.not_before"]
    assert found.claims == (("codes.fit_fits", (("claim", "1978"),)),)
    assert "1946, 1956, 1966, 1976" in say(found.headline[0], **dict(found.headline[1]))
    refused = decoded_for(desk, job, note_stamp(desk, job, "tone control", "source date", "1377660"))
    assert refused.refused
    assert refused.headline[0] == "codes.week"


def test_bands_by_their_kind(desk, job):
    """EL-42 and TP-9: the same colours are another thing on a moulded paper capacitor."""
    resistor = decoded_for(desk, job, note_stamp(desk, job, "bleeder", "resistor bands", "red red orange gold"))
    paper = decoded_for(
        desk, job, note_stamp(desk, job, "tone capacitor", "moulded paper bands", "red red orange black yellow")
    )
    assert dict(resistor.headline[1])["value"] == "22 kΩ"
    assert dict(paper.headline[1])["value"] == "22 nF (0.022 µF)"
    assert ("codes.volts", (("volts", "400"),)) in paper.besides


def test_archive_and_restore_carry_the_bench(desk, job, tmp_path):
    fault = note_fault(desk, job, "cuts out")
    sound = add_sound(desk, job, fault, "jack.wav", tone())
    assert sound.media_type == "audio/wav"
    type_reading(desk, job, "action", "3.4 mm", string=1, fret=12)
    type_coil(desk, job, "jack", "6.82 k", Coil(state="wandering", wanders_to="open"))
    lay_out(desk, job)
    keep_strings(desk, strings_at(desk, job, "intake"))
    note_stamp(desk, job, "volume control", "source date", left_unread=True, reason="solder undisturbed")
    archive_job(desk, job, tmp_path / "archive")
    assert verify(tmp_path / "archive").ok
    with Store.open(tmp_path / "other") as store:
        other = Desk(store, "tester")
        back = restore_job(other, tmp_path / "archive")

        def whole(at, find):
            return [replace(one, version=0) for one in find(at)]

        for find in (
            lambda at: faults_of(at, back),
            lambda at: readings_of(at, back),
            lambda at: listed(at, back),
            lambda at: stamps_of(at, back),
            lambda at: at.store.find(StringSet, job_id=back.id),
        ):
            assert whole(other, find) == whole(desk, find)
            assert find(other)
        (played,) = sounds_of(other, back, faults_of(other, back)[0])
        assert bytes_of(other, played) == tone()


def test_a_restored_store_is_sound(desk, job):
    from condition.flow.keeping import check

    fault = note_fault(desk, job, "hum")
    add_sound(desk, job, fault, "hum.wav", tone())
    assert check(desk.store.folder).ok
