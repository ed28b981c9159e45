import json
import sqlite3
from uuid import uuid4

import pytest

from condition.__main__ import main
from condition.records.person import Person
from condition.store import Store


@pytest.fixture
def folder(tmp_path):
    with Store.open(tmp_path / "store") as store:
        store.vault.put(b"abc")
        with store.write(str(uuid4()), "Ada") as write:
            write.put(Person(str(uuid4()), "Marta Quill"))
    return tmp_path / "store"


def damage(folder):
    connection = sqlite3.connect(folder / "bench.sqlite", isolation_level=None)
    connection.execute("UPDATE person SET name = 'somebody else'")
    connection.close()
    (photo,) = folder.glob("photos/*/*")
    photo.chmod(0o644)
    photo.write_bytes(b"abd")


def test_a_sound_store_ends_with_0(folder, capsys):
    assert main(["check", "--store", str(folder), "--json"]) == 0
    told = capsys.readouterr()
    assert json.loads(told.out) == {"ok": True, "problems": [], "notes": []}
    assert told.err == ""
    assert main(["check", "--store", str(folder)]) == 0
    assert capsys.readouterr().out == f"The store in {folder} is sound.\n"


def test_a_damaged_store_ends_with_2_and_every_problem_with_its_place_and_what_to_do(folder, capsys):
    damage(folder)
    assert main(["check", "--store", str(folder), "--json"]) == 2
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert told["ok"] is False
    assert [set(problem) for problem in told["problems"]] == [{"path", "what"}] * 2
    assert [problem["path"].split("/")[0] for problem in told["problems"]] == ["bench.sqlite", "photos"]
    assert all("latest backup" in problem["what"] for problem in told["problems"])
    assert err == told["error"] + "\n"
    assert "2 problems" in err


def test_the_plain_words_name_the_same_problems(folder, capsys):
    damage(folder)
    assert main(["check", "--store", str(folder)]) == 2
    out, err = capsys.readouterr()
    assert [line.split("/")[0] for line in out.splitlines()] == ["bench.sqlite", "photos"]
    assert len(err.splitlines()) == 1


def test_a_folder_without_a_store_is_refused_with_2_and_one_line(tmp_path, capsys):
    assert main(["check", "--store", str(tmp_path / "nothing"), "--json"]) == 2
    out, err = capsys.readouterr()
    assert json.loads(out) == {"error": err.strip()}
    assert str(tmp_path / "nothing") in err
    assert len(err.splitlines()) == 1
    assert not (tmp_path / "nothing").exists()


def test_the_store_of_the_variable_is_checked_when_none_is_named(folder, capsys, monkeypatch):
    monkeypatch.setenv("CONDITION_STORE", str(folder))
    assert main(["check"]) == 0
    assert str(folder) in capsys.readouterr().out
