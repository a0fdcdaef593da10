"""Papers: labels, label sheets, and what is printed for one loan."""

from django.urls import URLPattern, path

from rentals.views import labels, papers, sheets

urlpatterns: list[URLPattern] = [
    path("labels/", labels.labels, name="labels"),
    path("labels/labels.pdf", labels.labels_pdf, name="labels_pdf"),
    path("labels/calibration.pdf", labels.calibration, name="calibration"),
    path(
        "loans/<row:pk>/contents-statement.pdf",
        papers.contents_statement_pdf,
        name="loan_contents_statement",
    ),
    path("loans/<row:pk>/statement.pdf", papers.statement_pdf, name="loan_statement"),
    path("setup/sheets/", sheets.sheets, name="sheets"),
    path("setup/sheets/new/", sheets.sheet_new, name="sheet_new"),
    path("setup/sheets/<row:pk>/", sheets.sheet, name="sheet"),
    path("setup/sheets/<row:pk>/remove/", sheets.sheet_remove, name="sheet_remove"),
]
