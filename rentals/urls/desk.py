"""Today and the scan box. The short addresses are those printed in QR codes."""

from django.urls import path

from rentals.views import desk

urlpatterns = [
    path("", desk.today, name="today"),
    path("scan/", desk.scan, name="scan"),
    path("s/<str:code>/", desk.scan_code, name="scan_code"),
    path("s/<str:code>", desk.scan_code),
    path("S/<str:code>/", desk.scan_code),
    path("S/<str:code>", desk.scan_code),
]
