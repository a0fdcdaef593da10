"""Today and the scan box. The short addresses are those printed in QR codes."""

from django.urls import path

from rentals.views import desk, photo_scan

urlpatterns = [
    path("", desk.today, name="today"),
    path("scan/", desk.scan, name="scan"),
    path("scan/photo/", photo_scan.label_photo, name="label_photo"),
    path("scan/pick/", photo_scan.pick_code, name="pick_code"),
    path("s/<str:code>/", desk.scan_code, name="scan_code"),
    path("s/<str:code>", desk.scan_code, name="scan_code_loose"),
    path("S/<str:code>/", desk.scan_code, name="scan_code_loose"),
    path("S/<str:code>", desk.scan_code, name="scan_code_loose"),
]
