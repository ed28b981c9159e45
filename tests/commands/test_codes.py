"""``codes`` on the command line: values of the reference's EL rows, and what is none."""

from __future__ import annotations

import json

import pytest

from condition.__main__ import main


def run(capsys, *words):
    status = main(["codes", *words])
    out, err = capsys.readouterr()
    return status, out, err


def kinds(out):
    return {one["kind"]: " ".join(one["said"]) for one in json.loads(out)["meanings"]}


def test_a_source_date_with_every_decade(capsys):
    """EL-63: 137634 is week 34 of 1946, 1956, 1966 or 1976."""
    status, out, err = run(capsys, "--json", "137634", "--claimed", "1978")
    assert (status, err) == (0, "")
    assert "1946, 1956, 1966, 1976" in kinds(out)["source date"]
    assert "not made before" in kinds(out)["source date"]


def test_bands_are_told_in_every_order_they_fit(capsys):
    """EL-42 and TP-9: gold is a resistor's tolerance and none of the old paper capacitors'."""
    resistor = kinds(run(capsys, "--json", "red red orange gold")[1])
    assert "22 kΩ ± 5 %" in resistor["resistor bands"]
    assert "moulded paper bands" not in resistor
    paper = kinds(run(capsys, "--json", "red red orange black yellow")[1])
    assert "22 nF (0.022 µF) ± 20 %" in paper["moulded paper bands"]


def test_a_printed_value(capsys):
    """EL-49: 473 is 47 nF."""
    status, out, _ = run(capsys, "473K")
    assert status == 0
    assert "47 nF (0.047 µF) ± 10 %" in out


@pytest.mark.parametrize("text", ["1377660", "hello", ""])
def test_what_is_no_code_is_refused_in_one_line(capsys, text):
    status, out, err = run(capsys, "--json", text)
    assert status == 2
    assert len(err.strip().splitlines()) == 1
    assert "error" in json.loads(out)
