import json
import shutil

import pytest

from condition.__main__ import main


@pytest.fixture
def archive(benched, tmp_path):
    assert main(["archive", "2026-001", str(tmp_path / "out"), "--store", str(benched.store.folder)]) == 0
    return tmp_path / "out"


def told(capsys, *words: str) -> tuple[int, dict, str]:
    capsys.readouterr()
    status = main(["verify", *words, "--json"])
    out, err = capsys.readouterr()
    return status, json.loads(out), err


def test_a_sound_archive_and_its_report_end_with_0(archive, capsys):
    status, values, err = told(capsys, str(archive))
    assert (status, values["ok"], values["problems"], err) == (0, True, [], "")
    assert "not signed" in values["notes"][0]["what"]
    status, values, err = told(capsys, str(archive / "data" / "condition-report.pdf"))
    assert (status, values["ok"], values["problems"], err) == (0, True, [], "")
    assert "2026-001" in values["notes"][0]["what"]
    assert "not signed" in values["notes"][1]["what"]


def test_every_problem_is_told_with_its_path(archive, capsys):
    (archive / "data" / "photos" / "IMG 0001.jpg").write_bytes(b"other")
    (archive / "data" / "marks.jsonld").unlink()
    status, values, err = told(capsys, str(archive))
    assert status == 2
    assert values["ok"] is False
    paths = {problem["path"] for problem in values["problems"]}
    assert {"data/photos/IMG 0001.jpg", "data/marks.jsonld", "bag-info.txt"} <= paths
    assert all(set(problem) == {"path", "what"} for problem in values["problems"])
    assert err == values["error"] + "\n"
    capsys.readouterr()
    assert main(["verify", str(archive)]) == 2
    assert "data/marks.jsonld: " in capsys.readouterr().out


def test_an_altered_report_is_told(archive, tmp_path, capsys):
    import pikepdf

    copy = tmp_path / "given out.pdf"
    with pikepdf.open(archive / "data" / "condition-report.pdf") as pdf:
        del pdf.pages[-1]
        pdf.save(copy)
    status, values, _ = told(capsys, str(copy))
    assert status == 2
    assert values["problems"][0]["path"] == "pages"


def test_photos_exchanged_with_their_sums_are_found_by_their_records(archive, capsys):
    import bagit

    photos = archive / "data" / "photos"
    shutil.copy(photos / "IMG 0001 (2).jpg", photos / "IMG 0001.jpg")
    bagit.Bag(str(archive)).save(manifests=True)
    text = (archive / "bagit.txt").read_bytes()
    assert text.startswith(b"BagIt-Version:")
    status, values, _ = told(capsys, str(archive))
    assert status == 2
    assert "data/photos/IMG 0001.jpg" in {problem["path"] for problem in values["problems"]}


@pytest.mark.parametrize("name", ["nowhere", "note.txt"])
def test_what_is_neither_is_refused_in_one_line(tmp_path, capsys, name):
    (tmp_path / "note.txt").write_text("no report")
    status, values, err = told(capsys, str(tmp_path / name))
    assert status == 2
    assert err == values["error"] + "\n"
