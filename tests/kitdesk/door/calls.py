"""Requests of other programs, for tests: a token of any scopes, and what it asks."""

from __future__ import annotations

from typing import Any

from django.test import Client

from rentals.access_keys import SCOPES
from rentals.actions.access_tokens import make_access_token


class Program:
    """A program with a token; without scopes it has all of them."""

    def __init__(self, name: str = "Bench computer", *scopes: str, key: str = "") -> None:
        self.key = key or make_access_token(name, scopes or SCOPES)
        self.client = Client()

    def get(self, path: str, **query: Any):
        return self.client.get(f"/api/v1/{path}", query, headers=self.headers())

    def send(self, path: str, data: bytes, kind: str = "application/octet-stream", **headers: str):
        return self.client.post(
            f"/api/v1/{path}", data, content_type=kind, headers=self.headers() | headers
        )

    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.key}"}
