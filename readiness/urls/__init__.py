"""Addresses of the bench."""

from django.urls import URLPattern, path

from readiness.views import (
    captures,
    desk,
    guided,
    kits,
    plans,
    report_captures,
    reports,
)

app_name = "readiness"
urlpatterns: list[URLPattern] = [
    # The bench
    path("", desk.bench, name="bench"),
    path("upload/", desk.upload, name="bench_upload"),
    path("uploads/", desk.drops, name="drops"),
    path("uploads/<row:pk>/", desk.batch, name="batch"),
    path("timer/", desk.timer_index, name="timer_index"),
    path("timer/<slug:test>/", desk.timer, name="timer"),
    # One capture
    path("captures/<row:pk>/", captures.capture, name="capture"),
    path("captures/<row:pk>/answer/", captures.answer, name="capture_answer"),
    path("captures/<row:pk>/again/", captures.again, name="capture_again"),
    path("captures/<row:pk>/moved/", captures.moved, name="capture_moved"),
    path("captures/<row:pk>/set-aside/", captures.aside, name="capture_aside"),
    path(
        "captures/<row:pk>/count-again/",
        captures.back_in_count,
        name="capture_count_again",
    ),
    path("captures/<row:pk>/columns/", captures.columns, name="columns"),
    path("captures/<row:pk>/file/", captures.file, name="capture_file"),
    # One kit
    path("kits/<str:code>/", kits.kit_bench, name="kit_bench"),
    path("kits/<str:code>/panel/", kits.kit_panel, name="kit_panel"),
    path("kits/<str:code>/clear/", kits.clear, name="kit_clear"),
    path("kits/<str:code>/battery/", kits.battery, name="kit_battery"),
    path("kits/<str:code>/check-kit/", kits.check_kit, name="check_kit"),
    # A guided round with one kit
    path("kits/<str:code>/at-hand/", guided.kit_at_hand, name="kit_at_hand"),
    path("kits/<str:code>/round/", guided.guided_round, name="round"),
    path("kits/<str:code>/round/begin/", guided.begin, name="round_begin"),
    path("kits/<str:code>/round/files/", guided.drop, name="round_drop"),
    path("kits/<str:code>/round/confirm/", guided.confirm, name="round_confirm"),
    # A fault report of a student
    path("reports/<row:pk>/", report_captures.report_captures, name="report_captures"),
    path(
        "reports/files/<row:pk>/", report_captures.report_capture_file, name="report_capture_file"
    ),
    # One kit type
    path("plans/<row:kit_type_pk>/", plans.plan, name="plan"),
    path("plans/<row:kit_type_pk>/columns/", plans.column_maps, name="column_maps"),
    path("plans/<row:kit_type_pk>/rescore/", plans.rescore_captures, name="plan_rescore"),
    path(
        "plans/<row:kit_type_pk>/amplifiers/<row:amplifier_pk>/",
        plans.accept_limit,
        name="accept_limit",
    ),
]


def _report_routes(name: str) -> list[URLPattern]:
    """The page of a report and its files."""
    named = {"name": name}
    return [
        path(f"{name}/", reports.bench_report, named, name=name),
        path(f"{name}.<str:form>", reports.export_bench_report, named, name=f"{name}_file"),
    ]


#: Under the address of all reports, though the bench answers them.
report_urlpatterns = [route for name in reports.BENCH_REPORTS for route in _report_routes(name)]
