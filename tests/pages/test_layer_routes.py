"""The route of pictures laid over a photo: its gate, and what it refuses. No browser, no server."""

from __future__ import annotations

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from condition.flow import desk as desks
from condition.pages.layer_routes import layer_routes

ONE, OTHER = "11111111-1111-4111-8111-111111111111", "22222222-2222-4222-8222-222222222222"


@pytest.fixture
def client(desk, monkeypatch):
    monkeypatch.setattr(desks, "_current", desk)
    return TestClient(Starlette(routes=layer_routes()), base_url="http://localhost")


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [
        (f"{ONE}/{OTHER}/v/0/0_0.jpg", {"sec-fetch-site": "cross-site"}, 403),
        (f"{ONE}/{OTHER}/v/0/0_0.jpg", {"host": "elsewhere.example"}, 403),
        (f"{ONE}/{OTHER}/v/99/0_0.jpg", {}, 404),
        (f"{ONE}/..%2f..%2fstore/v/0/0_0.jpg", {}, 404),
        (f"{ONE}/{OTHER}/v/0/0_0.jpg", {}, 404),
    ],
    ids=["another site's page", "another host", "no such level", "a path for an id", "unknown photos"],
)
def test_what_the_route_turns_away(client, path, headers, status):
    answer = client.get(f"/bench/layer/{path}", headers=headers)
    assert answer.status_code == status
    assert "jpeg" not in answer.headers["content-type"]
