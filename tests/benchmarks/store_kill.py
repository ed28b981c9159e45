"""Kill the program at random moments while it writes, opens or copies a store, and look at what is left.

``python tests/benchmarks/store_kill.py --rounds 200 --seed 1`` prints one JSON object; exit status 1 and the broken
promise when one is broken:

- an operation that was acknowledged is there, with its answer, its records and its photo's bytes;
- an operation is there whole or not at all: its answer, its three log rows, its photo, finding and mark;
- no finding number was used twice;
- ``check`` finds no problem, and a store whose making was cut short opens;
- a backup is there whole and sound, or not at all.

SIGKILL ends the program, not the system: what the disk itself forgets when the power fails is not tested here.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import select
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from uuid import uuid4

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from condition.records.finding import Finding  # noqa: E402
from condition.records.instrument import Instrument  # noqa: E402
from condition.records.job import Job  # noqa: E402
from condition.records.mark import Mark  # noqa: E402
from condition.records.photo import Photo  # noqa: E402
from condition.records.shapes import Line  # noqa: E402
from condition.store import Store, back_up, check_store  # noqa: E402

JOB_NAME = "B-101"
LONGEST_S = 1.2
"""The kill comes at a random time up to this long after the program first answered."""


def write_on(folder: Path) -> None:
    """Take in a photo with a finding and a mark, again and again; print each operation once it is acknowledged."""
    with Store.open(folder) as store:
        job = _job(store)
        print("ready", flush=True)
        while True:
            data = uuid4().bytes * 4000
            sha256 = store.vault.put(data)
            operation = str(uuid4())
            with store.write(operation, "Ada") as write:
                photo = write.put(Photo(str(uuid4()), job.id, sha256, "top.jpg", "image/jpeg", 40, 30, len(data)))
                finding = write.put(Finding(str(uuid4()), job.id, write.next_number(job), "crack"))
                mark = write.put(Mark(str(uuid4()), photo.id, finding.id, Line(((1.5, 2.5), (3.25, 4.125)))))
                write.answer({"photo": photo.id, "finding": finding.id, "mark": mark.id, "sha256": sha256})
            print(operation, flush=True)


def copy_on(folder: Path, target: Path) -> None:
    """Copy the store into one new folder after another."""
    print("ready", flush=True)
    while True:
        print(back_up(folder, target / str(uuid4())), flush=True)


def _job(store: Store) -> Job:
    job = store.one(Job, name=JOB_NAME)
    if job is None:
        with store.write(str(uuid4()), "Ada") as write:
            instrument = write.put(Instrument(str(uuid4()), "small parlour guitar"))
            job = write.put(Job(str(uuid4()), JOB_NAME, instrument.id))
    return job


def killed(command: list[str], chance: random.Random, *, from_the_start: bool) -> list[str]:
    """Run this file's command, kill it at a random moment, return the whole lines it printed."""
    started = time.monotonic()
    process = subprocess.Popen([sys.executable, __file__, *command], stdout=subprocess.PIPE, cwd=ROOT)
    assert process.stdout is not None
    if not from_the_start:
        select.select([process.stdout], [], [], 60)
    time.sleep(chance.uniform(0, LONGEST_S + (1.0 if from_the_start else 0)))
    process.send_signal(signal.SIGKILL)
    printed = process.stdout.read().decode()
    assert process.wait() == -signal.SIGKILL, f"ended by itself after {time.monotonic() - started:.1f} s"
    return [line for line in printed.splitlines(keepends=True) if line.endswith("\n")]


def require_kept(folder: Path, acknowledged: list[str]) -> int:
    """Check every promise of the store; returns the number of operations in it."""
    with Store.open(folder) as store:
        photos = {photo.id: photo for photo in store.find(Photo)}
        findings = {finding.id: finding for finding in store.find(Finding)}
        marks = {mark.id: mark for mark in store.find(Mark)}
        with store._engine.connect() as connection:
            rows = connection.exec_driver_sql("SELECT id, answer FROM operation WHERE answer != '{}'").fetchall()
            logged = dict(
                connection.exec_driver_sql("SELECT operation, count(*) FROM log GROUP BY operation").fetchall()
            )
        answers = {operation: json.loads(answer) for operation, answer in rows}
        lost = set(acknowledged) - answers.keys()
        assert not lost, f"{len(lost)} acknowledged operations are lost"
        assert len(answers) == len(photos) == len(findings) == len(marks), "an operation is there in part"
        for operation, answer in answers.items():
            assert logged[operation] == 3, "an operation's log rows are not all there"
            photo, mark = photos[answer["photo"]], marks[answer["mark"]]
            assert (mark.photo_id, mark.finding_id) == (photo.id, answer["finding"]), "records do not belong together"
            assert answer["finding"] in findings, "an operation's finding is lost"
            data = store.vault.path(photo.sha256).read_bytes()
            assert hashlib.sha256(data).hexdigest() == answer["sha256"], "a photo's bytes are not what was taken in"
        numbers = [finding.number for finding in findings.values()]
        assert len(numbers) == len(set(numbers)), "a finding number was used twice"
    checked = check_store(folder)
    assert checked.ok, f"check: {checked.problems}"
    return len(answers)


def run(rounds: int, seed: int, where: Path) -> dict:
    """Kill writes, openings and copies in turn; returns what was counted."""
    chance = random.Random(seed)
    acknowledged: list[str] = []
    folder, counted = where / "store", {"writes": 0, "openings": 0, "copies": 0}
    for turn in range(rounds):
        lines = killed(["--write", str(folder)], chance, from_the_start=False)
        acknowledged += [line.strip() for line in lines if line != "ready\n"]
        counted["writes"] += 1
        operations = require_kept(folder, acknowledged)
        if turn % 2 == 0:
            fresh = where / f"fresh-{turn}"
            killed(["--write", str(fresh)], chance, from_the_start=True)
            counted["openings"] += 1
            Store.open(fresh).close()
            assert check_store(fresh).ok, "a store whose making was cut short is not sound"
        else:
            copies = where / f"copies-{turn}"
            copies.mkdir()
            killed(["--copy", str(folder), str(copies)], chance, from_the_start=False)
            counted["copies"] += 1
            for copy in copies.iterdir():
                if not copy.name.startswith("."):
                    assert require_kept(copy, acknowledged) == operations, "a copy is not the whole store"
    return {"rounds": rounds, "seed": seed, "acknowledged": len(acknowledged), "kept": operations, "killed": counted}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--copy", type=Path, nargs=2, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.write:
        write_on(args.write)
    if args.copy:
        copy_on(*args.copy)
    with tempfile.TemporaryDirectory() as where:
        try:
            print(json.dumps(run(args.rounds, args.seed, Path(where))))
        except AssertionError as broken:
            print(json.dumps({"seed": args.seed, "broken": str(broken)}))
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
