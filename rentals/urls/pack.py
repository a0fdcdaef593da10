"""Packing and dispatch."""

from django.urls import URLPattern, path

from rentals.views import dispatch_list, pack, pack_acts

urlpatterns: list[URLPattern] = [
    # pack/
    path("pack/", pack.queue, name="pack"),
    path("pack/dispatch/", dispatch_list.dispatch_list, name="dispatch_list"),
    path("pack/dispatch/scan/", dispatch_list.dispatch_scan, name="dispatch_scan"),
    path("pack/dispatch/undo/", dispatch_list.dispatch_undo, name="dispatch_undo"),
    path("pack/<str:code>/", pack.pack_kit, name="pack_kit"),
    path("pack/<str:code>/tick/", pack_acts.pack_tick, name="pack_tick"),
    path("pack/<str:code>/scan/", pack_acts.pack_scan, name="pack_scan"),
    path("pack/<str:code>/rest/", pack_acts.pack_rest, name="pack_rest"),
    path("pack/<str:code>/close/", pack_acts.pack_close, name="pack_close"),
    path("pack/<str:code>/override/", pack_acts.pack_override, name="pack_override"),
    path("pack/<str:code>/short-dated/", pack_acts.pack_short_dated, name="pack_short_dated"),
    path("pack/<str:code>/unpack/", pack_acts.pack_unpack, name="pack_unpack"),
    path("pack/<str:code>/mail/", pack_acts.pack_mail, name="pack_mail"),
    path("pack/<str:code>/dispatch/", pack_acts.pack_dispatch, name="pack_dispatch"),
    path("pack/<str:code>/recall/", pack_acts.pack_recall, name="pack_recall"),
    path("pack/<str:code>/tracking/", pack_acts.pack_tracking, name="pack_tracking"),
]
