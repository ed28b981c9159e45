"""The demonstration job, opened once a test run: it takes a minute."""

from __future__ import annotations

import pytest

from condition.flow.demo import open_demo
from condition.flow.desk import open_desk
from condition.records.finding import Finding
from condition.records.photo import Photo
from tests.opened_demo import Opened


@pytest.fixture(scope="session")
def opened(tmp_path_factory):
    desk = open_desk(tmp_path_factory.mktemp("demo") / "store", person="tester")
    job = open_demo(desk)
    yield Opened(
        desk,
        job,
        {finding.number: finding for finding in desk.store.find(Finding, job_id=job.id)},
        {photo.file_name: photo for photo in desk.store.find(Photo, job_id=job.id)},
    )
    desk.store.close()
