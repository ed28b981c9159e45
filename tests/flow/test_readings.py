"""Readings: typed, corrected, set side by side. Values from the reference's EL, ME and TP rows."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from condition.errors import Refused
from condition.flow.before_after import pairs
from condition.flow.board_fit import board_of
from condition.flow.coil import sentences
from condition.flow.readings import reading_at, readings_of, remove_reading, type_coil, type_reading
from condition.flow.strings import keep_strings, pull_of, string_length, strings_at, usual_strings
from condition.flow.undo import put_back
from condition.records.instrument import Instrument
from condition.records.measurement import Measurement, as_text
from condition.records.reading import Coil, FittedString, Reading, StringSet
from condition.words import say

HAND_METER = Coil(control_typed="250 k", meter_percent=0.8, meter_digits=3, temperature_typed="23")


def codes(reading):
    return [code for code, _ in sentences(reading)]


def test_a_coil_is_corrected_as_the_reference_reckons_it(desk, job):
    """EL-32, but for the temperature taken as +- 2 °C rectangular and the doubt on fine wire's coefficient (EL-4a)."""
    read = type_coil(desk, job, "neck", "7.75 k", HAND_METER)
    assert read.typed == "7.75 k"
    assert as_text(read.measurement) == "7.75 ± 0.11 kΩ"
    assert read.corrected.value == pytest.approx(7904.74, abs=0.006)
    parts = {part.name: abs(part.standard) for part in read.corrected.parts}
    assert parts["temperature"] == pytest.approx(61.41 / 3**0.5, abs=0.006)
    assert set(parts) == {"meter", "volume control", "temperature", "wire"}
    assert "coil.says_no_more" in codes(read)


def test_the_room_lends_its_temperature_even_when_noted_later(desk, job):
    read = type_coil(desk, job, "neck", "7.75 k", replace(HAND_METER, temperature_typed=""))
    assert "coil.no_temperature" in codes(read)
    type_reading(desk, job, "temperature", "23")
    again = reading_at(desk, job, "coil", "intake", place="neck")
    assert again.corrected.value == pytest.approx(7904.74, abs=0.006)
    assert "coil.no_temperature" not in codes(again)


@pytest.mark.parametrize(
    ("text", "coil", "code"),
    [
        ("OL", Coil(), "coil.open"),
        ("0.2 ohm", Coil(state="shorted"), "coil.shorted"),
        ("6.82 k", Coil(state="wandering", wanders_to="open"), "coil.wandering_open"),
        ("6.82 k", Coil(state="wandering"), "coil.wandering"),
        ("64 k", Coil(volume="not full"), "coil.not_full"),
        ("6.82 k", Coil(tone="moves"), "coil.tone_moves"),
        ("", Coil(state="not this way"), "coil.not_this_way"),
        ("6.82 k", Coil(), "coil.control_unknown"),
        ("300 k", Coil(control_typed="250 k"), "coil.above_control"),
        ("28.8 k", Coil(control_typed="250 k", expected_typed="7-8.5 k"), "coil.knob"),
        ("7.75 k", Coil(control_typed="250 k", expected_typed="7-8.5 k"), "coil.within_expected"),
        ("5.0 k", Coil(control_typed="250 k", expected_typed="7-8.5 k"), "coil.below_expected"),
        ("9.5 k", Coil(control_typed="250 k", expected_typed="7-8.5 k"), "coil.above_expected"),
        ("8.25 k", Coil(control_typed="250 k", expected_typed="7-8.5 k"), "coil.edge_of_expected"),
        ("7.75 k", Coil(volume="none"), "coil.no_temperature"),
    ],
)
def test_what_is_said_beside_a_reading(desk, job, text, coil, code):
    """EL-33: a turned-down volume reads far above the coil; TP-7: the tone control must not move the reading."""
    assert code in codes(type_coil(desk, job, "jack", text, coil))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None)
@given(
    st.builds(
        Coil,
        state=st.sampled_from(["steady", "wandering", "open", "shorted", "not this way"]),
        volume=st.sampled_from(["full", "not full", "none"]),
        tone=st.sampled_from(["not swept", "still", "moves"]),
        control_typed=st.sampled_from(["", "250 k", "500k"]),
        expected_typed=st.sampled_from(["", "7-8.5 k"]),
    ),
    st.sampled_from(["7.75 k", "OL", "8.4 k", "1.2 M", "0.3 ohm"]),
)
def test_no_reading_ever_calls_a_part_good(desk, job, coil, text):
    """TP-2: a pickup that squeals can read a usual resistance; so no sentence says good, sound, fine or all right."""
    read = type_coil(desk, job, "any", text, coil)
    told = " ".join(say(code, **dict(values)) for code, values in sentences(read)).lower()
    promises = told.replace("says that a pickup is good", "")
    assert not any(word in promises.split() for word in ("good", "sound", "fine", "healthy", "ok", "right"))
    if read.corrected is not None:
        assert "no resistance by itself" in told


def test_two_of_a_kind_may_differ(desk, job):
    """TP-1: 8.0 and 7.8 kilohm are a usual pair of a kind that runs to 8.5; neither is called into question."""
    coil = Coil(control_typed="500 k", temperature_typed="20", expected_typed="7.5-8.5 k", meter_percent=0.5,
                meter_digits=2)  # fmt: skip
    pair = [type_coil(desk, job, place, text, coil) for place, text in (("neck", "8.0 k"), ("bridge", "7.80 k"))]
    assert [round(read.corrected.value / 1000, 2) for read in pair] == [8.13, 7.92]
    for read in pair:
        assert not {"coil.below_expected", "coil.above_expected", "coil.knob"} & set(codes(read))


def test_a_place_is_said(desk, job):
    with pytest.raises(Refused, match=r"readings\.no_place"):
        type_coil(desk, job, " ", "7 k", Coil())


def test_text_stays_as_typed_beside_its_value(desk, job):
    """TP-11: thousandths, fractions and millimetres are all spoken of."""
    for string, (text, mm) in enumerate((("3/32 in", 2.38125), ('0.118"', 2.9972), ("118 thou", 2.9972), ("3,4", 3.4))):
        read = type_reading(desk, job, "action", text, string=string + 1, fret=12)
        assert read.typed == text
        assert read.measurement.value == pytest.approx(mm)
    assert len(readings_of(desk, job)) == 4


def test_a_reading_is_kept_once_a_place_and_comes_back(desk, job):
    type_reading(desk, job, "relief", "0.45 mm", fret=7)
    read = type_reading(desk, job, "relief", "0.40 mm", fret=7)
    assert [one.typed for one in readings_of(desk, job)] == ["0.40 mm"]
    assert type_reading(desk, job, "relief", " ", fret=7) is None
    assert readings_of(desk, job) == ()
    assert put_back(desk, Reading, read.id).typed == "0.40 mm"
    remove_reading(desk, reading_at(desk, job, "relief", "intake", fret=7))
    assert readings_of(desk, job) == ()


def test_a_bad_text_changes_nothing(desk, job):
    type_reading(desk, job, "relief", "0.45", fret=7)
    with pytest.raises(Refused, match=r"spoken\.length"):
        type_reading(desk, job, "relief", "a hair", fret=7)
    assert reading_at(desk, job, "relief", "intake", fret=7).typed == "0.45"


def setups(desk, job, humidity, action=("3.4 mm", "2.2 mm"), gauges=("12", "12")):
    for occasion, room, text, gauge in zip(("intake", "returned"), humidity, action, gauges, strict=True):
        type_reading(desk, job, "humidity", room, occasion=occasion)
        type_reading(desk, job, "temperature", "20.5", occasion=occasion)
        type_reading(desk, job, "action", text, occasion=occasion, string=1, fret=12)
        strings = strings_at(desk, job, occasion)
        edited = tuple(replace(s, gauge_typed=gauge) for s in strings.strings)
        keep_strings(desk, replace(strings, strings=edited))
    return pairs(readings_of(desk, job), desk.store.find(StringSet, job_id=job.id))


def verdict(found, what="action"):
    return next(pair for pair in found if pair.what == what)


def test_changed_only_beyond_the_uncertainty_and_under_like_conditions(desk, job):
    """TP-8: before and after compare only under like conditions."""
    found = verdict(setups(desk, job, ("44 %", "46 %")))
    assert found.verdict == "changed"
    assert found.difference.value == pytest.approx(-1.2)


def test_unlike_air_is_told(desk, job):
    found = verdict(setups(desk, job, ("31 %", "46 %")))
    assert found.verdict == "unlike"
    assert dict(found.unlike)["before_after.unlike_humidity"] == (("before", "31 %"), ("after", "46 %"))


def test_other_strings_are_told(desk, job):
    found = verdict(setups(desk, job, ("45", "46"), gauges=("12", "11")))
    assert [code for code, _ in found.unlike] == ["before_after.unlike_strings"]


def test_within_the_uncertainty_is_no_change(desk, job):
    assert verdict(setups(desk, job, ("45", "46"), action=("2.20 mm", "2.22 mm"))).verdict == "within"


def test_a_reading_without_its_conditions_is_no_change_either(desk, job):
    for occasion, text in (("intake", "3.4"), ("returned", "2.2")):
        type_reading(desk, job, "action", text, occasion=occasion, string=1, fret=12)
    found = verdict(pairs(readings_of(desk, job)))
    assert found.verdict == "unlike"
    assert {code for code, _ in found.unlike} == {
        "before_after.no_humidity", "before_after.no_temperature", "before_after.no_strings"}  # fmt: skip


def test_a_wandering_coil_that_is_steady_now_is_another_state_not_another_value(desk, job):
    type_coil(desk, job, "jack", "6.82 k", Coil(state="wandering", wanders_to="open"))
    type_coil(desk, job, "jack", "6.82 k", replace(HAND_METER, tone="still"), occasion="returned")
    found = verdict(pairs(readings_of(desk, job)), "coil")
    assert (found.verdict, found.difference) == ("state", None)


def test_what_was_read_once_says_so(desk, job):
    type_reading(desk, job, "relief", "0.45", fret=7)
    assert verdict(pairs(readings_of(desk, job)), "relief").verdict == "only before"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(st.decimals(0, 9, places=2), st.decimals(0, 9, places=2))
def test_changed_means_the_difference_exceeds_its_own_uncertainty(before, after):
    """JCGM 100:2008, 5.1: the difference of two independent readings has the root sum of squares of their parts."""
    from condition.measure.typed import typed

    one, other = (typed("distance", float(v), "mm", "gauge", step=0.01) for v in (before, after))
    readings = [
        Reading("a", "j", "fret height", "intake", fret=1, measurement=one),
        Reading("b", "j", "fret height", "returned", fret=1, measurement=other),
    ]
    (found,) = pairs(readings)
    expected = (one.expanded**2 + other.expanded**2) ** 0.5
    assert found.difference.expanded == pytest.approx(expected)
    assert (found.verdict == "changed") == (abs(other.value - one.value) > expected)


def test_a_set_of_strings_pulls_as_the_reference_reckons(desk, job):
    """Section 6.2: the .010 to .046 set pulls 460.39 N at 25.5 in, 0.942042 of that at 24.75 in."""
    gauges = ("10", "13", "17", "26", "36", "46")
    strings = tuple(
        FittedString(s.number, s.note, gauge, winding="plain" if int(gauge) < 20 else "wound")
        for s, gauge in zip(usual_strings("solid electric guitar"), gauges, strict=True)
    )
    kept = keep_strings(desk, replace(strings_at(desk, job, "intake"), strings=strings))
    pull = pull_of(kept, Measurement("length", 25.5 * 25.4, "mm", 0.0, "rule"))
    assert pull.total.value == pytest.approx(460.39, abs=0.02)
    assert not pull.estimated
    shorter = pull_of(kept, Measurement("length", 24.75 * 25.4, "mm", 0.0, "rule"))
    assert shorter.total.value / pull.total.value == pytest.approx(0.942042, abs=1e-6)
    assert dict(pull.each)[1] == pytest.approx(72.063, abs=2e-3)
    assert pull.total.expanded > 0


def test_courses_count_each_of_their_strings(desk, job):
    course = keep_strings(
        desk, replace(strings_at(desk, job, "intake"), strings=(FittedString(1, "E4", "10", in_course=2),))
    )
    length = Measurement("length", 25.5 * 25.4, "mm", 0.0, "rule")
    assert pull_of(course, length).total.value == pytest.approx(2 * 72.063, abs=3e-3)


def test_what_cannot_be_reckoned_is_left_out_and_told(desk, job):
    strings = (FittedString(1, "E4", "10"), FittedString(2, "B3", "", winding="other"), FittedString(3, "", "17"))
    kept = keep_strings(desk, replace(strings_at(desk, job, "intake"), strings=strings))
    assert pull_of(kept, Measurement("length", 647.7, "mm", 1.0, "rule")).left_out == (2, 3)
    assert pull_of(kept, None).total is None
    with pytest.raises(Refused, match=r"strings\.gauge"):
        keep_strings(desk, replace(kept, strings=(FittedString(1, "E4", "9 mm"),)))


def test_the_string_length_as_read_comes_before_the_stated_one(desk, job):
    instrument = desk.store.get(Instrument, job.instrument_id)
    with desk.store.write("00000000-0000-4000-8000-0000000000aa", "tester") as work:
        work.put(replace(instrument, string_length_mm=530.0))
    assert string_length(desk, job, "intake").value == 530
    type_reading(desk, job, "string length", "529.5 mm")
    assert string_length(desk, job, "intake").value == 529.5


def test_the_board_by_its_frets(desk, job):
    """Table of section 6.1, 648 mm, exact rule."""
    for fret, mm in ((1, 36.37), (5, 162.55), (7, 215.51), (12, 324.0), (19, 431.76)):
        type_reading(desk, job, "fret place", f"{mm} mm", fret=fret)
    board = board_of(desk, job, "intake")
    assert board.fits[0].rule == "exact"
    assert board.fits[0].length_mm == pytest.approx(648, abs=0.02)
    assert board.told_apart
    assert board_of(desk, job, "returned") is None
