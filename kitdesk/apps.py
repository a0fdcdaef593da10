"""The project itself as an app: its commands, checks and shared pages."""

from django.apps import AppConfig


class KitdeskConfig(AppConfig):
    name = "kitdesk"

    def ready(self) -> None:
        from allauth.account.signals import password_changed
        from django.contrib.auth.signals import user_logged_in
        from django.db import connections
        from django.db.models.signals import pre_save
        from django_tasks_db.models import DBTaskResult

        from kitdesk import checks  # noqa: F401  (importing registers the checks)
        from kitdesk.open_sessions import end_others_after_new_password, note_sign_in
        from kitdesk.quick_sql import put_plain_queries_quickly
        from kitdesk.traces.request_ids import hand_on

        put_plain_queries_quickly(connections["default"])
        pre_save.connect(hand_on, sender=DBTaskResult)
        user_logged_in.connect(note_sign_in)
        password_changed.connect(end_others_after_new_password)
