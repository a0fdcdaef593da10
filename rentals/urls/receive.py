"""Receiving, loans and shortfalls."""

from django.urls import path

from rentals.views import found, line_photos, loans, out_lists, papers, receive, shortfalls

urlpatterns = [
    path("receive/", receive.out_list, name="receive"),
    path("receive/out.<str:form>", out_lists.out_export, name="out_export"),
    path("receive/out/", out_lists.out_print, name="out_print"),
    path("receive/<str:code>/", receive.receive_kit, name="receive_kit"),
    path("receive/<str:code>/arrived/", receive.arrived, name="receive_arrived"),
    path("receive/<str:code>/scan/", receive.scan, name="receive_scan"),
    path("receive/<str:code>/rest/", receive.rest, name="receive_rest"),
    path("receive/<str:code>/found/", receive.found, name="receive_found"),
    path("receive/<str:code>/lines/<row:pk>/", receive.line, name="receive_line"),
    path("receive/photos/<row:pk>.jpg", line_photos.photo, name="receive_photo"),
    path("receive/photos/<row:pk>/remove/", line_photos.photo_remove, name="photo_remove"),
    path("found/<row:pk>/move/", found.move, name="found_move"),
    path("found/<row:pk>/aside/", found.aside, name="found_aside"),
    path("loans/<row:pk>/", loans.loan, name="loan"),
    path("loans/<row:pk>/packing-list.pdf", papers.packing_list_pdf, name="loan_packing_list"),
    path("loans/<row:pk>/settle/", loans.settle_loan, name="loan_settle"),
    path("loans/<row:pk>/paid/", loans.balance_paid, name="loan_paid"),
    path("loans/<row:pk>/extend/", loans.extend_loan, name="loan_extend"),
    path("loans/<row:pk>/tracking/", loans.tracking, name="loan_tracking"),
    path("loans/<row:pk>/arrival/", loans.arrival, name="loan_arrival"),
    path("loans/<row:pk>/unassign/", loans.unassign_loan, name="loan_unassign"),
    path("loans/<row:pk>/write-off/", loans.write_off_loan, name="loan_write_off"),
    path("shortfalls/", shortfalls.shortfall_list, name="shortfalls"),
    path("shortfalls/<row:pk>/", shortfalls.shortfall, name="shortfall"),
    path("shortfalls/<row:pk>/photos/", shortfalls.add_shortfall_photos, name="shortfall_photos"),
    path("shortfalls/<row:pk>/chase/", shortfalls.note_chased, name="shortfall_chase"),
    path("shortfalls/<row:pk>/recover/", shortfalls.note_recovered, name="shortfall_recover"),
    path("shortfalls/<row:pk>/charge/", shortfalls.charge_student, name="shortfall_charge"),
    path("shortfalls/<row:pk>/waive/", shortfalls.waive_shortfall, name="shortfall_waive"),
]
