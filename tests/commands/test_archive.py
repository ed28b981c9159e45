import json

import bagit

from condition.__main__ import main
from condition.records.mark import Mark
from condition.report.annotations import read_page


def archived(benched, tmp_path):
    out = tmp_path / "out"
    assert main(["archive", "2026-001", str(out), "--store", str(benched.store.folder), "--json"]) == 0
    return out


def test_a_job_is_archived_whole(benched, tmp_path, capsys):
    out = archived(benched, tmp_path)
    assert json.loads(capsys.readouterr().out) == {"file": str(out)}
    assert bagit.Bag(str(out)).validate()
    held = sorted(path.relative_to(out / "data").as_posix() for path in (out / "data").rglob("*") if path.is_file())
    assert held == [
        "condition-report.pdf",
        "marks.jsonld",
        "photos/IMG 0001 (2).jpg",
        "photos/IMG 0001.jpg",
        "records.json",
    ]
    assert (out / "data/condition-report.pdf").read_bytes().startswith(b"%PDF")


def test_photos_are_archived_byte_for_byte(benched, tmp_path):
    out = archived(benched, tmp_path)
    kept = {benched.store.vault.path(sha256).read_bytes() for sha256 in benched.store.vault}
    assert {path.read_bytes() for path in (out / "data/photos").iterdir()} == kept


def test_marks_in_the_archive_are_those_of_the_store(benched, tmp_path):
    out = archived(benched, tmp_path)
    (travelling,) = read_page((out / "data/marks.jsonld").read_bytes())
    (mark,) = benched.store.find(Mark)
    assert travelling.uuid == mark.id
    assert travelling.shape_px == mark.shape_px
    assert travelling.kind == "crack"
    assert travelling.source == "IMG 0001.jpg"


def test_what_is_there_already_is_not_written_over(benched, tmp_path, capsys):
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("keep")
    assert main(["archive", "2026-001", str(out), "--store", str(benched.store.folder), "--json"]) == 2
    told = capsys.readouterr()
    assert json.loads(told.out)["error"] == told.err.strip()
    assert "not empty" in told.err
    assert [path.name for path in out.iterdir()] == ["mine.txt"]


def test_a_job_nobody_knows_is_refused(benched, tmp_path, capsys):
    assert main(["archive", "no such job", str(tmp_path / "out"), "--store", str(benched.store.folder)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_photo_the_vault_lost_is_told_and_nothing_is_left(benched, tmp_path, capsys):
    lost = next(iter(benched.store.vault))
    path = benched.store.vault.path(lost)
    path.chmod(0o644)
    path.unlink()
    assert main(["archive", "2026-001", str(tmp_path / "out"), "--store", str(benched.store.folder)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert [p.name for p in tmp_path.iterdir() if p.name != "store"] == []
