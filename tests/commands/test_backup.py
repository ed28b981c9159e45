import json
from uuid import uuid4

import pytest

from condition.__main__ import main
from condition.records.person import Person
from condition.store import Store, check_store


@pytest.fixture
def folder(tmp_path):
    with Store.open(tmp_path / "store") as store:
        store.vault.put(b"abc")
        with store.write(str(uuid4()), "Ada") as write:
            write.put(Person(str(uuid4()), "Marta Quill"))
    return tmp_path / "store"


@pytest.mark.parametrize("as_json", [True, False])
def test_the_copy_is_a_sound_store_and_is_named(folder, tmp_path, capsys, as_json):
    target = tmp_path / "copy"
    assert main(["backup", str(target), "--store", str(folder), *(["--json"] if as_json else [])]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out) == {"file": str(target)} if as_json else str(target) in out
    assert check_store(target).ok
    with Store.open(target) as copy:
        assert [person.name for person in copy.find(Person)] == ["Marta Quill"]


def test_a_backup_from_the_working_folder_names_the_whole_path(folder, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["backup", "copy", "--store", "store", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"file": str(tmp_path / "copy")}


@pytest.mark.parametrize("target", ["full", "store/copy", "file"])
def test_a_target_that_will_not_do_is_refused_with_2_and_one_line(folder, tmp_path, capsys, target):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("Dear client")
    (tmp_path / "file").write_text("")
    before = sorted(tmp_path.rglob("*"))
    assert main(["backup", str(tmp_path / target), "--store", str(folder), "--json"]) == 2
    out, err = capsys.readouterr()
    assert json.loads(out) == {"error": err.strip()}
    assert str(tmp_path / target) in err
    assert len(err.splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


def test_a_damaged_store_is_not_copied(folder, tmp_path, capsys):
    (photo,) = folder.glob("photos/*/*")
    photo.chmod(0o644)
    photo.write_bytes(b"abd")
    assert main(["backup", str(tmp_path / "copy"), "--store", str(folder)]) == 2
    assert "no backup was made" in capsys.readouterr().err
    assert not (tmp_path / "copy").exists()
