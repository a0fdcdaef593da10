"""Course runs, rosters and students."""

from django.urls import URLPattern, path

from rentals.views import (
    assignment,
    papers,
    privacy,
    roster,
    run_dispatch,
    run_mail,
    runs,
    students,
    table_templates,
)

urlpatterns: list[URLPattern] = [
    # runs/
    path("runs/", runs.run_list, name="runs"),
    path("runs/new/", runs.run_new, name="run_new"),
    path("runs/days/", runs.run_days, name="run_days"),
    path("runs/<row:pk>/", runs.run, name="run"),
    path("runs/<row:pk>/edit/", runs.run_edit, name="run_edit"),
    path("runs/<row:pk>/assign/", assignment.run_assign, name="run_assign"),
    path("runs/<row:pk>/enrol/", students.enrol, name="enrol"),
    path("runs/<row:pk>/dispatch/", run_dispatch.dispatch_chosen, name="run_dispatch"),
    path("runs/<row:pk>/mail/", run_mail.mail_all, name="run_mail"),
    path("runs/<row:pk>/packing-lists.pdf", papers.run_packing_lists, name="run_packing_lists"),
    path("runs/roster.<str:form>", table_templates.roster, name="roster_template"),
    # runs/<pk>/import/
    path("runs/<row:pk>/import/", roster.upload, name="run_import"),
    path("runs/<row:pk>/import/<row:draft>/", roster.preview, name="roster"),
    path("runs/<row:pk>/import/<row:draft>/columns/", roster.columns, name="roster_columns"),
    path("runs/<row:pk>/import/<row:draft>/letters/", roster.letters, name="roster_letters"),
    path("runs/<row:pk>/import/<row:draft>/discard/", roster.discard, name="roster_discard"),
    # students/ and enrolments/
    path("students/", students.student_list, name="students"),
    path("students/<row:pk>/", students.student, name="student"),
    path("students/<row:pk>/data.zip", privacy.export_student, name="student_data"),
    path("students/<row:pk>/erase/", privacy.erase_student, name="student_erase"),
    path("enrolments/<row:pk>/withdraw/", students.withdraw_student, name="withdraw"),
]
