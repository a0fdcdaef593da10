"""``manage.py prepare``: everything that must be in place before a server starts."""

from django.core.management import call_command
from django.core.management.base import CommandError

from kitdesk.alone_at_tables import alone_at_tables
from kitdesk.checks import store_problem
from kitdesk.kept_rows import clear_kept_rows
from kitdesk.lasting_worker import take_up_lost_work
from kitdesk.planner_counts import count_for_planner
from kitdesk.private_files import make_private
from kitdesk.traces.readers import forget_counts
from readiness.actions.scoring_tasks import queue_waiting
from rentals.actions.packing_list import draw_up_missing
from rentals.desk_command import DeskCommand


class Command(DeskCommand):
    help = (
        "Bring the database up to date, make the cache table and collect the static files. Safe to"
        " repeat, and to run on several machines at once."
    )

    def handle(self, **options: object) -> None:
        if (problem := store_problem()) is not None:
            raise CommandError(problem)
        self.stdout.write("Preparing the database ...")
        with alone_at_tables(self.stdout.write):
            call_command("migrate", verbosity=0, interactive=False)
            call_command("createcachetable", verbosity=0)
            draw_up_missing()
            clear_kept_rows()
            count_for_planner()
            queue_waiting()
            take_up_lost_work()
        self.stdout.write("Collecting static files ...")
        call_command("collectstatic", verbosity=0, interactive=False)
        make_private()
        forget_counts()
