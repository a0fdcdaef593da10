"""The project itself as an app: its commands, checks and shared pages."""

from django.apps import AppConfig


class KitdeskConfig(AppConfig):
    name = "kitdesk"

    def ready(self) -> None:
        from kitdesk import checks  # noqa: F401  (importing registers the checks)
