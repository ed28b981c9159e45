"""The pool of workers, against tasks that are stuck, die, eat memory or lie."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pool_tasks as tasks
import pytest
from PIL import Image

from condition.errors import Damaged, Problem, Refused
from condition.flow.pool import MEMORY_BYTES, Pool, WorkerFailed, shared
from condition.imaging.decode import PIXEL_LIMIT
from condition.words import say_error

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def pool():
    with Pool() as made:
        yield made


def code_of(future) -> str:
    with pytest.raises(Refused) as refusal:
        future.result(timeout=60)
    assert not say_error(refusal.value).startswith("photo.")
    return refusal.value.code


def test_a_task_is_called_in_another_process_and_answers(pool):
    assert pool.submit(tasks.twice, 21).result(timeout=60) == 42
    assert pool.submit("pool_tasks:twice", 4).result(timeout=60) == 8
    assert pool.submit(tasks.process_id).result(timeout=60) != os.getpid()


def test_workers_stay_warm_and_are_two(pool):
    seen = {future.result(timeout=60) for future in [pool.submit(tasks.process_id) for _ in range(20)]}
    assert 1 <= len(seen) <= 2


def test_a_record_comes_back_as_it_went(pool):
    assert pool.submit(tasks.card).result(timeout=60) == tasks.card()


def test_a_refusal_in_a_worker_is_that_refusal_here(pool):
    with pytest.raises(Refused) as refusal:
        pool.submit(tasks.refuse, "a.jpg").result(timeout=60)
    assert (refusal.value.code, refusal.value.values) == ("photo.empty", {"file": "a.jpg"})
    with pytest.raises(Damaged) as damage:
        pool.submit(tasks.damage).result(timeout=60)
    assert damage.value.problems == (Problem("a", "b", (("c", "d"),)),)


def test_a_defect_in_a_worker_is_told_as_a_defect(pool):
    with pytest.raises(WorkerFailed, match="KeyError"):
        pool.submit(tasks.fail).result(timeout=60)
    with pytest.raises(WorkerFailed, match="can't be sent"):
        pool.submit(tasks.lambda_answer).result(timeout=60)
    assert pool.submit(tasks.twice, 1).result(timeout=60) == 2


@pytest.mark.parametrize("task", [tasks.spin, tasks.slow_file])
def test_a_stuck_task_is_stopped_in_time_and_names_its_file(pool, task):
    started = time.monotonic()
    arguments = ("/somewhere/IMG_1.jpg",) if task is tasks.slow_file else ()
    future = pool.submit(task, *arguments, seconds=0.5)
    assert code_of(future) == "photo.too_slow"
    assert time.monotonic() - started < 20
    if arguments:
        assert "IMG_1.jpg took too long" in say_error(future.exception())
    assert pool.submit(tasks.twice, 3).result(timeout=60) == 6


@pytest.mark.parametrize("task", [tasks.die, tasks.leave])
def test_a_worker_that_dies_is_replaced(pool, task):
    assert code_of(pool.submit(task)) == "photo.worker_died"
    assert pool.submit(tasks.twice, 3).result(timeout=60) == 6


def test_waiting_in_line_does_not_count_as_work(pool):
    futures = [pool.submit(tasks.busy, 0.4, seconds=5) for _ in range(30)]
    assert [future.result(timeout=60) for future in futures] == ["done"] * 30


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds this limit")
def test_a_task_that_wants_too_much_memory_is_refused_and_the_worker_lives():
    with Pool(workers=1, memory_bytes=600_000_000) as small:
        before = small.submit(tasks.process_id).result(timeout=60)
        assert small.submit(tasks.eat, 100_000_000).result(timeout=60) == 100_000_000
        assert code_of(small.submit(tasks.eat, 700_000_000)) == "photo.no_memory"
        assert small.submit(tasks.process_id).result(timeout=60) == before


def test_a_full_disk_is_told_as_a_full_disk(pool):
    future = pool.submit(tasks.fill_disk, "/cache/IMG_1.jpg")
    assert code_of(future) == "photo.disk_full"
    assert "IMG_1.jpg was not taken in" in say_error(future.exception())


def test_what_a_worker_prints_does_not_spoil_its_answer(pool):
    assert pool.submit(tasks.chat).result(timeout=60) == "heard"
    assert pool.submit(tasks.chat).result(timeout=60) == "heard"


def test_a_worker_taken_over_by_a_file_can_run_nothing_here(pool, tmp_path):
    mark = tmp_path / "ran"
    with pytest.raises(Exception, match="plain values and records only"):
        pool.submit(tasks.bomb, str(mark)).result(timeout=60)
    assert not mark.exists()


def test_many_threads_share_one_pool(pool):
    answers: dict[int, int] = {}

    def ask(number: int) -> None:
        answers[number] = pool.submit(tasks.twice, number).result(timeout=60)

    threads = [threading.Thread(target=ask, args=(number,)) for number in range(40)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == {number: 2 * number for number in range(40)}


def test_closing_ends_the_workers_and_cancels_what_waits():
    made = Pool(workers=1)
    worker = made.submit(tasks.process_id).result(timeout=60)
    at_work, waits = made.submit(tasks.busy, 60), made.submit(tasks.twice, 1)
    while not at_work.running():
        time.sleep(0.01)
    made.close()
    made.close()
    assert code_of(at_work) == "photo.worker_died"
    assert waits.cancelled()
    with pytest.raises(OSError, match="No such process"):
        os.kill(worker, 0)
    with pytest.raises(RuntimeError, match="closed"):
        made.submit(tasks.twice, 1)


def test_there_is_one_shared_pool():
    assert shared() is shared()


def test_a_script_without_a_main_guard_does_not_run_again_in_its_workers(tmp_path):
    """A page's script, or ``python script.py``: multiprocessing's spawn would import it again and hang or recurse."""
    script = tmp_path / "app.py"
    script.write_text(
        f"import sys; sys.path[:0] = [{str(ROOT)!r}, {str(ROOT / 'tests')!r}]\n"
        "print('started')\n"
        "from condition.flow.pool import shared\n"
        "import pool_tasks\n"
        "print(shared().submit(pool_tasks.twice, 5).result(timeout=60))\n"
        "print(shared().submit(pool_tasks.loaded).result(timeout=60))\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=120)
    assert done.stdout.split("\n") == ["started", "10", "[]", ""]
    assert done.stderr == ""


def test_workers_end_when_their_program_is_killed(tmp_path):
    script = tmp_path / "app.py"
    script.write_text(
        f"import sys, os; sys.path[:0] = [{str(ROOT)!r}, {str(ROOT / 'tests')!r}]\n"
        "from condition.flow.pool import Pool\n"
        "import pool_tasks\n"
        "print(Pool(workers=1).submit(pool_tasks.process_id).result(timeout=60), flush=True)\n"
        "os.kill(os.getpid(), 9)\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=120)
    worker = int(done.stdout)
    for _ in range(200):
        if not _alive(worker):
            break
        time.sleep(0.05)
    assert not _alive(worker)


def _alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux holds this limit")
def test_the_largest_photo_there_may_be_is_decoded_in_two_thirds_of_the_memory_allowed(tmp_path):
    path = tmp_path / "large.jpg"
    Image.new("RGB", (PIXEL_LIMIT // 10_000, 10_000), (120, 70, 40)).save(path, progressive=True, subsampling=0)
    with Pool(workers=1, memory_bytes=MEMORY_BYTES * 2 // 3) as tight:
        assert tight.submit(tasks.size_of, str(path)).result(timeout=120) == (12_000, 10_000)


def test_a_page_of_streamlit_can_ask_the_pool(tmp_path):
    from streamlit.testing.v1 import AppTest

    page = tmp_path / "page.py"
    page.write_text(
        "import streamlit as st\n"
        "import pool_tasks\n"
        "from condition.flow.pool import Pool\n"
        "with Pool(workers=1) as pool:\n"
        "    st.text(pool.submit(pool_tasks.twice, 8).result(timeout=60))\n"
        "    st.text(pool.submit(pool_tasks.loaded).result(timeout=60))\n"
    )
    shown = AppTest.from_file(str(page), default_timeout=90).run()
    assert not shown.exception
    assert [line.value for line in shown.text] == ["16", "[]"]
