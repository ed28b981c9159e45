import json
import re

import pytest

from condition.__main__ import main
from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.mark import Mark
from condition.records.photo import Photo
from condition.records.view import View
from condition.store import Store


@pytest.fixture
def archive(benched, tmp_path):
    assert main(["archive", "2026-001", str(tmp_path / "out"), "--store", str(benched.store.folder)]) == 0
    return tmp_path / "out"


def reseal(archive):
    """Bring the sums in step with the files, as somebody who means harm would."""
    import bagit

    bagit.Bag(str(archive)).save(manifests=True)


def test_a_job_comes_back_the_same_under_the_same_ids(benched, archive, tmp_path, capsys):
    other = tmp_path / "other"
    capsys.readouterr()
    assert main(["restore", str(archive), "--store", str(other), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"job": "2026-001"}
    with Store.open(other) as store:
        for record in (Job, View, Photo, Finding, Mark):
            before = {one.id: re.sub(r"version=\d+", "", repr(one)) for one in benched.store.find(record)}
            after = {one.id: re.sub(r"version=\d+", "", repr(one)) for one in store.find(record)}
            assert before == after
            assert after
        assert list(store.vault) == list(benched.store.vault)
        assert store.vault.verify() == ()


def test_archived_again_it_is_the_same_archive(archive, tmp_path):
    assert main(["restore", str(archive), "--store", str(tmp_path / "other")]) == 0
    assert main(["archive", "2026-001", str(tmp_path / "again"), "--store", str(tmp_path / "other")]) == 0

    def values(folder):
        told = json.loads((folder / "data" / "records.json").read_bytes())
        for one in told["records"]:
            one["values"].pop("version")
        return told

    assert values(archive) == values(tmp_path / "again")


def test_a_job_that_is_there_is_not_touched(benched, archive, capsys):
    (before,) = benched.store.find(Job)
    assert main(["restore", str(archive), "--store", str(benched.store.folder)]) == 2
    assert "in the store already" in capsys.readouterr().err
    assert benched.store.find(Job) == (before,)


def test_another_job_of_that_name_is_told(archive, tmp_path, capsys):
    from condition.flow.desk import open_desk
    from condition.flow.jobs import open_job

    desk = open_desk(tmp_path / "other")
    open_job(desk, "2026-001")
    desk.store.close()
    assert main(["restore", str(archive), "--store", str(tmp_path / "other")]) == 2
    assert "another job called 2026-001" in capsys.readouterr().err


def test_a_damaged_archive_is_refused_and_nothing_kept(archive, tmp_path, capsys):
    (archive / "data" / "photos" / "IMG 0001.jpg").write_bytes(b"other")
    capsys.readouterr()
    assert main(["restore", str(archive), "--store", str(tmp_path / "other"), "--json"]) == 2
    told = capsys.readouterr()
    assert json.loads(told.out)["error"] == told.err.strip()
    with Store.open(tmp_path / "other") as store:
        assert store.find(Job) == ()
        assert list(store.vault) == []


@pytest.mark.parametrize(
    "change",
    [
        lambda told: told["records"].append({"kind": "nothing", "values": {}}),
        lambda told: told["records"][0]["values"].update(surprise=1),
        lambda told: told["photos"].update({next(iter(told["photos"])): "../../../etc/passwd"}),
        lambda told: told.update(form="another form"),
        lambda told: told.update(job="00000000-0000-4000-8000-000000000000"),
        lambda told: [one["values"].update(number=0) for one in told["records"] if one["kind"] == "finding"],
        lambda told: [one["values"].update(width=9) for one in told["records"] if one["kind"] == "photo"],
        lambda told: [one["values"].update(photo_id=told["job"]) for one in told["records"] if one["kind"] == "mark"],
    ],
)
def test_records_that_cannot_be_are_refused_in_one_line(archive, tmp_path, capsys, change):
    source = archive / "data" / "records.json"
    told = json.loads(source.read_bytes())
    change(told)
    source.write_text(json.dumps(told))
    reseal(archive)
    capsys.readouterr()
    assert main(["restore", str(archive), "--store", str(tmp_path / "other")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    with Store.open(tmp_path / "other") as store:
        assert store.find(Job) == ()


def test_a_bag_without_a_job_is_no_archive_of_ours(tmp_path, capsys):
    from condition.report.bag import write_bag

    write_bag(tmp_path / "bag", [("a.txt", b"hello\n")], {})
    assert main(["restore", str(tmp_path / "bag"), "--store", str(tmp_path / "other")]) == 2
    assert "records.json" in capsys.readouterr().err
