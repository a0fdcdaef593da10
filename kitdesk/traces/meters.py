"""What is counted in each process: requests and tasks. Imported only where metrics are on.

The library writes each process's counts into a file of its own, so that one scrape tells those of
all servers and workers of this machine.
"""

from __future__ import annotations

from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.multiprocess import MultiProcessCollector

#: Seconds. A page takes hundredths; a capture about one; a verification minutes.
_PAGES_S = (0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)
_TASKS_S = (0.1, 0.5, 1, 5, 15, 60, 300, 1800)

_own = CollectorRegistry()
_requests = Counter(
    "kitdesk_requests",
    "Requests answered, by the name of the address and the class of the status.",
    ["route", "status"],
    registry=_own,
)
_request_seconds = Histogram(
    "kitdesk_request_duration_seconds",
    "Time to answer a request.",
    ["route"],
    buckets=_PAGES_S,
    registry=_own,
)
_tasks = Counter(
    "kitdesk_tasks", "Tasks done, by name and outcome.", ["task", "outcome"], registry=_own
)
_task_seconds = Histogram(
    "kitdesk_task_duration_seconds",
    "Time that a task took.",
    ["task"],
    buckets=_TASKS_S,
    registry=_own,
)


def count_request(route: str, status: int, seconds: float) -> None:
    """One request was answered."""
    _requests.labels(route, f"{status // 100}xx").inc()
    _request_seconds.labels(route).observe(seconds)


def count_task(task: str, outcome: str, seconds: float) -> None:
    """One task has ended."""
    _tasks.labels(task, outcome).inc()
    _task_seconds.labels(task).observe(seconds)


def counts_of_all_processes() -> CollectorRegistry:
    """A registry that tells what every process of this machine has counted."""
    registry = CollectorRegistry()
    MultiProcessCollector(registry)
    return registry
