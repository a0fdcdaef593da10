"""Scoring on several cores: every job is done once, by whoever is free."""

import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from readiness.judgement import scoring_jobs
from readiness.judgement.scoring_jobs import (
    JOBS_AT_ONCE,
    ScoringJob,
    do_job,
    do_jobs,
    helpers,
    outcomes_of,
)
from tests.readiness.captures import capture_bytes

KIT = "K0014E"


def job(pk, data=b"nothing to be read"):
    return ScoringJob(pk, "", data, f"{pk}.csv", KIT, "still")


def test_a_job_gives_the_stored_result():
    outcome = do_job(job(1, capture_bytes("still", kit=KIT)))
    assert (outcome.pk, outcome.refusal, outcome.result["verdict"]) == (1, "", "fit")


def test_a_refusal_is_an_outcome():
    outcome = do_job(job(1))
    assert outcome.result is None
    assert outcome.refusal


def test_a_file_that_is_gone_is_said(tmp_path):
    gone = ScoringJob(1, str(tmp_path / "gone"), None, "gone.csv", KIT, "still")
    assert "cannot be read: No such file" in do_job(gone).refusal


def test_one_worker_keeps_the_order():
    outcomes = outcomes_of([job(number) for number in range(3)], None)
    assert [outcome.pk for outcome in outcomes] == [0, 1, 2]


@pytest.mark.parametrize("count", [1, JOBS_AT_ONCE, 10 * JOBS_AT_ONCE + 1])
def test_a_pool_and_this_process_do_every_job_once(count):
    jobs = [job(number) for number in range(count)]
    with ThreadPoolExecutor(1) as pool:
        outcomes = list(scoring_jobs._shared(jobs, pool))
    assert sorted(outcome.pk for outcome in outcomes) == list(range(count))


def test_while_the_pool_is_busy_this_process_works_from_the_end(monkeypatch):
    here, may_go_on, done_here = threading.get_ident(), threading.Event(), []

    def slow_elsewhere(jobs):
        if threading.get_ident() == here:
            done_here.extend(job.pk for job in jobs)
        else:
            may_go_on.wait(30)
        return do_jobs(jobs)

    monkeypatch.setattr(scoring_jobs, "do_jobs", slow_elsewhere)
    jobs = [job(number) for number in range(3 * JOBS_AT_ONCE)]
    with ThreadPoolExecutor(1) as pool:
        outcomes = scoring_jobs._shared(jobs, pool)
        first = [next(outcomes).pk for _ in range(2 * JOBS_AT_ONCE)]
        may_go_on.set()
        rest = [outcome.pk for outcome in outcomes]
    n = JOBS_AT_ONCE
    assert first == [*range(2 * n, 3 * n), *range(n, 2 * n)]
    assert rest == list(range(n))
    assert done_here == first


def test_helpers_do_their_part_and_leave_the_rest_when_somebody_stops():
    jobs = [job(number) for number in range(3 * JOBS_AT_ONCE)]
    with helpers(1) as pool:
        assert sorted(outcome.pk for outcome in outcomes_of(jobs, pool)) == list(range(len(jobs)))
        # One that takes its time, so that the last of many still waits behind it.
        pool.submit(time.sleep, 1)
        waiting = [pool.submit(do_jobs, jobs[:1]) for _ in range(20)]
    assert waiting[-1].cancelled()
    with helpers(0) as pool:
        assert pool is None
