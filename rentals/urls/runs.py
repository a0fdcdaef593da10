"""Course runs, rosters and students."""

from django.urls import URLPattern, path

from rentals.views import assignment, papers, roster, runs, students

urlpatterns: list[URLPattern] = [
    # runs/
    path("runs/", runs.run_list, name="runs"),
    path("runs/new/", runs.run_new, name="run_new"),
    path("runs/<int:pk>/", runs.run, name="run"),
    path("runs/<int:pk>/edit/", runs.run_edit, name="run_edit"),
    path("runs/<int:pk>/assign/", assignment.run_assign, name="run_assign"),
    path("runs/<int:pk>/enrol/", students.enrol, name="enrol"),
    path("runs/<int:pk>/packing-lists.pdf", papers.run_packing_lists, name="run_packing_lists"),
    # runs/<pk>/import/
    path("runs/<int:pk>/import/", roster.upload, name="run_import"),
    path("runs/<int:pk>/import/<int:draft>/", roster.preview, name="roster"),
    path("runs/<int:pk>/import/<int:draft>/columns/", roster.columns, name="roster_columns"),
    path("runs/<int:pk>/import/<int:draft>/discard/", roster.discard, name="roster_discard"),
    # students/ and enrolments/
    path("students/<int:pk>/", students.student, name="student"),
    path("enrolments/<int:pk>/withdraw/", students.withdraw_student, name="withdraw"),
]
