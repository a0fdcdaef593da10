"""All addresses: sign-in, first run, health, and the two apps."""

from django.urls import include, path

from kitdesk.door.front import door, operations
from kitdesk.views import backups, looks, people, sessions
from kitdesk.views.first_run import first_run
from kitdesk.views.health import health
from kitdesk.views.metrics import metrics
from kitdesk.views.watching import verify_now, watching
from readiness.urls import report_urlpatterns

handler400 = "kitdesk.views.errors.bad_request"
handler403 = "kitdesk.views.errors.permission_denied"
handler404 = "kitdesk.views.errors.page_not_found"
handler500 = "kitdesk.views.errors.server_error"

urlpatterns = [
    path("health", health, name="health"),
    path("metrics", metrics, name="metrics"),
    path("watching/", watching, name="watching"),
    path("watching/verify/", verify_now, name="verify_now"),
    path("first-run/", first_run, name="first_run"),
    path("theme/", looks.theme, name="theme"),
    path("signals/", looks.signals, name="signals"),
    path("keys/", looks.keys, name="keys"),
    path("people/", people.people, name="people"),
    path("people/<row:pk>/open/", people.open_or_close, name="people_open"),
    path("people/<row:pk>/roles/", people.roles, name="people_roles"),
    path("people/<row:pk>/password/", people.new_password, name="people_password"),
    path("people/<row:pk>/sessions/", sessions.sessions_of_person, name="people_sessions"),
    path("people/<row:pk>/sessions/end/", sessions.end_of_person, name="people_session_end"),
    path("backups/", backups.backups, name="backups"),
    path("backups/now/", backups.backup_now, name="backup_now"),
    path("api/", operations, name="operations"),
    path("api/v1/<path:rest>", door, name="door"),
    path("account/", include("kitdesk.account_urls")),
    path("bench/", include("readiness.urls")),
    path("reports/", include((report_urlpatterns, "bench_reports"))),
    path("", include("readiness.urls.student")),
    path("", include("rentals.urls")),
]
