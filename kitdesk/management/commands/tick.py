"""``manage.py tick``: what is due by the clock. From cron, or once a minute by a worker; safe to
run twice at once.
"""

from __future__ import annotations

from dataclasses import astuple

from kitdesk.backups.daily import keep_daily_backup
from kitdesk.backups.told import tell_standing
from kitdesk.kept_rows import clear_kept_rows
from kitdesk.lasting_worker import note_tick, take_up_lost_work
from kitdesk.planner_counts import count_for_planner_hourly
from kitdesk.stray_files import clear_stray_files_daily
from kitdesk.watching.weekly import verify_weekly
from rentals.actions.chase_rules import chase_by_rule
from rentals.actions.packing_list import draw_up_missing
from rentals.actions.remind import remind
from rentals.actions.renew_mail import renew_waiting
from rentals.actions.retention import keep_no_longer
from rentals.actions.send import send_due_mails
from rentals.actions.send_webhooks import forget_old_calls, make_due_calls
from rentals.counts import counted
from rentals.desk_command import DeskCommand
from rentals.seals.heads import tell_head


class Command(DeskCommand):
    help = (
        "Bring drafts up to date, draft the reminders that are due, send every mail that waits, and"
        " queue again the captures that a worker left behind, write the day's backup, tell where"
        " the log ends, have the history verified once a week, and erase students, photos and"
        " roster drafts that have been kept for the set time. Safe to run beside a worker, or"
        " twice."
    )

    def handle(self, *, verbosity: int, **options: object) -> None:
        # First, so that nobody is told of a clock at rest while the first minute's work is done.
        note_tick()
        clear_kept_rows()
        clear_stray_files_daily()
        count_for_planner_hourly()
        draw_up_missing()
        renew_waiting()
        reminded = remind() + chase_by_rule()
        counts = send_due_mails()
        requeued = take_up_lost_work()
        gone = keep_no_longer()
        tell_head()
        make_due_calls()
        forget_old_calls()
        backup = keep_daily_backup()
        tell_standing()
        verify_weekly()
        if verbosity:
            reminders = counted(reminded, "reminder", "reminders")
            sent = counted(counts.sent, "mail", "mails")
            self.stdout.write(
                f"{reminders}; {sent} sent, {counts.later} to be tried again,"
                f" {counts.failed} failed, {counts.uncertain} may have been sent."
            )
        if verbosity and requeued:
            again = counted(requeued, "capture is", "captures are")
            self.stdout.write(f"{again} in the queue again.")
        if verbosity and any(astuple(gone)):
            students = counted(gone.students, "student", "students")
            photos = counted(gone.photos, "photo", "photos")
            drafts = counted(gone.drafts, "roster draft", "roster drafts")
            self.stdout.write(f"Kept no longer: {students}, {photos}, {drafts}.")
        if verbosity and backup:
            self.stdout.write(f"The day's backup is written: {backup.size / 1e6:.1f} MB.")
