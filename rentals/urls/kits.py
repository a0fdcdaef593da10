"""Kits and parts."""

from django.urls import path

from rentals.views import chosen, fleet, kit_acts, kits, labels, parts, table_templates

urlpatterns = [
    path("kits/", kits.kit_list, name="kits"),
    path("kits/new/", kits.kit_new, name="kit_new"),
    path("kits/fleet/", fleet.fleet, name="fleet"),
    path("kits/fleet.<str:form>", table_templates.fleet, name="fleet_template"),
    path("kits/labels.pdf", labels.kit_labels, name="kit_labels"),
    path("kits/export.<str:form>", kits.kit_export, name="kits_export"),
    path("kits/hold/", chosen.hold_kits, name="kits_hold"),
    path("kits/<str:code>/", kits.kit, name="kit"),
    path("kits/<str:code>/history/", kits.kit_history, name="kit_history"),
    path("kits/<str:code>/fit/", kit_acts.fit, name="kit_fit"),
    path("kits/<str:code>/register/", kit_acts.register_here, name="kit_register"),
    path("kits/<str:code>/swap/<str:part>/", kit_acts.swap, name="kit_swap"),
    path("kits/<str:code>/take-out/<str:part>/", kit_acts.remove, name="kit_remove"),
    path("kits/<str:code>/hold/", kit_acts.hold_kit, name="kit_hold"),
    path("kits/<str:code>/release/", kit_acts.release_kit, name="kit_release"),
    path("kits/<str:code>/retire/", kit_acts.retire_kit, name="kit_retire"),
    path("kits/<str:code>/note/", kit_acts.note_kit, name="kit_note"),
    path("parts/", parts.part_list, name="parts"),
    path("parts/new/", parts.part_new, name="part_new"),
    path("parts/labels.pdf", labels.part_labels, name="part_labels"),
    path("parts/move/", chosen.move_parts, name="parts_move"),
    path("parts/<str:code>/", parts.part, name="part"),
    path("parts/<str:code>/move/", parts.part_move, name="part_move"),
    path("parts/<str:code>/damage/", parts.part_damage, name="part_damage"),
]
