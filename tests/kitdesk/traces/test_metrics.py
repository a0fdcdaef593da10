"""Figures for Prometheus: named as its library wants it, for those who may read, in few queries."""

import os
import re

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from kitdesk import checks
from kitdesk.lasting_worker import beat
from kitdesk.traces import readers
from kitdesk.watching import figures
from rentals.actions.verifying import note_verified
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db
TOKEN = "a-token-of-enough-letters"
BEARER = {"Authorization": f"Bearer {TOKEN}"}
OPEN = "application/openmetrics-text; version=1.0.0"


@pytest.fixture
def metrics_on(settings):
    settings.KITDESK_METRICS = ["10.1.0.0/16", TOKEN]


def _samples() -> dict[tuple[str, ...], float]:
    from prometheus_client.parser import text_string_to_metric_families

    answer = Client().get("/metrics", headers=BEARER)
    families = text_string_to_metric_families(answer.content.decode())
    samples = [sample for family in families for sample in family.samples]
    return {(sample.name, *_values(sample.labels)): sample.value for sample in samples}


def _values(labels: dict[str, str]) -> list[str]:
    return [labels[name] for name in sorted(labels)]


def test_they_are_read_by_named_addresses_and_tokens_alone(settings, metrics_on):
    client = Client()
    assert client.get("/metrics").status_code == 401
    assert client.get("/metrics", REMOTE_ADDR="10.2.0.1").status_code == 401
    wrong = {"Authorization": f"Bearer {TOKEN}x"}
    assert client.get("/metrics", headers=wrong).status_code == 401
    assert client.get("/metrics", REMOTE_ADDR="10.1.2.3").status_code == 200
    assert client.get("/metrics", headers=BEARER).status_code == 200
    settings.KITDESK_METRICS = []
    assert client.get("/metrics", headers=BEARER).status_code == 404


def test_a_slip_in_an_address_is_named_at_start(settings):
    settings.KITDESK_METRICS = ["10.1.0.0/16", TOKEN, "::1"]
    assert checks.tokens_cannot_be_guessed(None) == []
    settings.KITDESK_METRICS = ["10.1.0.256"]
    (problem,) = checks.tokens_cannot_be_guessed(None)
    assert problem.id == "kitdesk.E006"


def test_they_tell_of_requests_and_of_the_desk(metrics_on, signed_in):
    complete_kit()
    beat("1")
    note_verified(2)
    before = _samples()
    signed_in.get(reverse("rentals:kits"))
    Client().get("/nobody/knows/this")
    told = _samples()
    for counted in (
        ("kitdesk_requests_total", "rentals:kits", "2xx"),
        ("kitdesk_requests_total", "none", "4xx"),
        ("kitdesk_request_duration_seconds_count", "rentals:kits"),
    ):
        assert told[counted] == before.get(counted, 0) + 1
    assert told["kitdesk_kits", "shelf"] == 1 and told["kitdesk_kits", "away"] == 0
    assert told["kitdesk_mails", "failed"] == 0
    assert told["kitdesk_verified_faults",] == 2
    assert told["kitdesk_worker_beat_age_seconds",] < 90
    assert told["kitdesk_database_size_bytes",] > 100_000
    assert told["kitdesk_disk_free_bytes", "data"] > 0
    assert told["kitdesk_database_up",] == 1
    assert not any("nobody" in word for key in told for word in key)


def test_a_task_is_counted_by_its_name_and_outcome(metrics_on, settings):
    from kitdesk.traces.meters import count_task

    count_task("score_capture", "successful", 1.5)
    told = _samples()
    assert told["kitdesk_tasks_total", "successful", "score_capture"] >= 1
    assert told["kitdesk_task_duration_seconds_sum", "score_capture"] >= 1.5


def test_counts_of_processes_that_are_no_more_go(metrics_on, settings):
    Client().get("/health")
    folder = settings.VAR / "metrics"
    gone, own = folder / "counter_999999999.db", folder / f"counter_{os.getpid()}.db"
    gone.write_bytes(b"")
    readers.forget_counts()
    assert own.exists() and not gone.exists()


def test_names_and_forms_are_those_of_the_library(metrics_on):
    from prometheus_client.openmetrics.parser import text_string_to_metric_families

    beat("1")
    note_verified(0)
    Client().get("/health")
    answer = Client().get("/metrics", headers=BEARER | {"Accept": OPEN})
    assert answer["Content-Type"].startswith("application/openmetrics-text")
    families = list(text_string_to_metric_families(answer.content.decode()))
    assert len(families) >= 10
    for family in families:
        assert re.fullmatch(r"kitdesk_[a-z_]+", family.name), family.name
        assert family.documentation, family.name
        is_measure = re.search("age|duration|oldest|free|size", family.name)
        assert not is_measure or family.name.endswith(("_seconds", "_bytes")), family.name


def test_a_reading_costs_few_queries_however_much_there_is(metrics_on):
    for _ in range(3):
        complete_kit()
    with CaptureQueriesContext(connection) as queries:
        Client().get("/metrics", headers=BEARER)
    assert len(queries) <= 9


def test_without_a_database_that_is_told(metrics_on, monkeypatch):
    def away(now):
        raise DatabaseError("gone")

    monkeypatch.setattr(figures, "_families", away)
    told = _samples()
    assert told["kitdesk_database_up",] == 0
    assert ("kitdesk_kits", "shelf") not in told
