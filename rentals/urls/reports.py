"""Reports: a page and its file each."""

from django.urls import URLPattern, path

from rentals.views import reports


def _routes(name: str) -> list[URLPattern]:
    place = f"reports/{name.replace('_', '-')}"
    return [
        path(f"{place}/", reports.report, {"name": name}, name=f"report_{name}"),
        path(
            f"{place}.<str:form>", reports.export_report, {"name": name}, name=f"report_{name}_file"
        ),
    ]


urlpatterns: list[URLPattern] = [
    path("reports/", reports.reports, name="reports"),
    *(route for name in reports.REPORTS for route in _routes(name)),
]
