import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
def test_a_program_killed_while_it_writes_opens_or_copies_keeps_every_promise():
    """Two rounds of the long run in tests/benchmarks/store_kill.py, which says what the promises are."""
    seed = str(int.from_bytes(os.urandom(3)))
    command = [sys.executable, "tests/benchmarks/store_kill.py", "--rounds", "2", "--seed", seed]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, (seed, done.stdout, done.stderr)
    assert json.loads(done.stdout)["killed"] == {"writes": 2, "openings": 1, "copies": 1}
