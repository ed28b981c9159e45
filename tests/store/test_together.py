"""Threads of one program and several programs write to one store: nothing is lost, nothing doubled."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from condition.records.finding import Finding
from condition.records.job import Job
from condition.records.person import Person
from condition.store import AlreadyDone, Stale, Store
from tests.store.bench_records import found, new, opened_job

ROOT = Path(__file__).parents[2]

COUNTING = """
import sys
from dataclasses import replace
from uuid import uuid4
from condition.records.finding import Finding
from condition.records.job import Job
from condition.store import Stale, Store

folder, finding_id, job_id, writes = *sys.argv[1:4], int(sys.argv[4])
store = Store.open(folder, patience_s=60)
print("ready", flush=True)
sys.stdin.readline()
stale = 0
for _ in range(writes):
    while True:
        counted = store.get(Finding, finding_id)
        try:
            with store.write(str(uuid4()), "Ada") as write:
                write.put(replace(counted, observation=str(int(counted.observation) + 1)))
                job = write.get(Job, job_id)
                write.put(Finding(str(uuid4()), job.id, write.next_number(job), "dent"))
            break
        except Stale as refusal:
            assert refusal.current.version > counted.version
            stale += 1
print(stale)
"""


def test_two_programs_write_two_hundred_times_each_and_lose_and_double_nothing(store, folder):
    job = opened_job(store)
    counter = found(store, job, observation="0")
    command = [sys.executable, "-c", COUNTING, str(folder), counter.id, job.id, "200"]
    programs = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT) for _ in range(2)
    ]
    for program in programs:
        assert program.stdout.readline() == "ready\n"
    for program in programs:
        program.stdin.write("go\n")
        program.stdin.flush()
    stale = [int(program.communicate(timeout=300)[0]) for program in programs]
    assert [program.returncode for program in programs] == [0, 0]
    final = store.get(Finding, counter.id)
    assert (final.observation, final.version) == ("400", 401)
    changes = store.history(counter.id)
    assert [int(change.after["observation"]) for change in changes] == list(range(401))
    assert len({change.operation for change in changes}) == 401
    assert [finding.number for finding in store.find(Finding, job_id=job.id)] == list(range(1, 402))
    assert store.get(Job, job.id).last_finding_number == 401
    assert sum(stale) > 0, "the two programs never met, so this run tested nothing"


def test_threads_share_one_store_with_stale_retries(store):
    counter = found(store, opened_job(store), observation="0")

    def count(_: int) -> None:
        while True:
            counted = store.get(Finding, counter.id)
            try:
                with store.write(new(), "Ada") as write:
                    write.put(replace(counted, observation=str(int(counted.observation) + 1)))
                return
            except Stale:
                continue

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(count, range(40)))
    assert store.get(Finding, counter.id).observation == "40"


def test_one_operation_sent_by_many_threads_at_once_is_done_once(store):
    operation = new()

    def send(_: int) -> dict:
        try:
            with store.write(operation, "Ada") as write:
                person = write.put(Person(new(), "Marta Quill"))
                answer = {"id": person.id}
                write.answer(answer)
                return answer
        except AlreadyDone as before:
            return before.answer

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(send, range(24)))
    (person,) = store.find(Person)
    assert answers == [{"id": person.id}] * 24


def test_reading_goes_on_while_another_writes(store, folder):
    job = opened_job(store)
    with Store.open(folder) as other, other.write(new(), "Ben") as write:
        write.put(replace(job, summary="half way"))
        assert store.get(Job, job.id).summary == ""
    assert store.get(Job, job.id).summary == "half way"
