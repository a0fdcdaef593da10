"""``manage.py worker``: does the background jobs, and with ``--clock`` also what is due by the
clock.
"""

import logging
import os
import threading
import time
from argparse import ArgumentParser

from django.core.management import call_command
from django.db import close_old_connections
from django.utils.crypto import get_random_string

from kitdesk import workers
from kitdesk.at_work import say_at_work
from kitdesk.lasting_worker import LastingWorker, keep_beating
from rentals.desk_command import DeskCommand

log = logging.getLogger("kitdesk.worker")
TICK_EVERY_S = 60.0


class Command(DeskCommand):
    help = (
        "Do background jobs until stopped. Any number of workers may run, on any number of"
        " machines."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--clock",
            action="store_true",
            help="also do what is due by the clock, at the start and every minute",
        )
        parser.add_argument(
            "--stop-with-parent", action="store_true", help="end when standard input closes"
        )

    def handle(self, *, clock: bool, stop_with_parent: bool, **options: object) -> None:
        if stop_with_parent:
            workers.stop_with_parent()
        say_at_work()
        if clock:
            threading.Thread(target=_clock, name="clock", daemon=True).start()
        # The library logs every task; ours log what matters.
        logging.getLogger("django_tasks_db").setLevel(logging.CRITICAL)
        logging.getLogger("django_tasks").setLevel(logging.CRITICAL)
        worker_id = f"{os.getpid()}-{get_random_string(16)}"
        heart = threading.Thread(target=keep_beating, args=[worker_id], name="heart", daemon=True)
        heart.start()
        worker = LastingWorker(
            queue_names=["*"],
            interval=0.5,
            batch=False,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=worker_id,
            excluded_queue_names=[],
        )
        worker.configure_signals()
        worker.run()


def _clock() -> None:
    """Do what is due, at the start and every minute, for ever; a failure is logged and tried again
    a minute later.
    """
    while True:
        try:
            close_old_connections()
            call_command("tick", verbosity=0)
        except Exception:
            log.exception("The minute's work failed; it is tried again in %.0f s", TICK_EVERY_S)
        finally:
            close_old_connections()
        time.sleep(TICK_EVERY_S)
