"""The plan: which kit is where, and when."""

from django.urls import URLPattern, path

from rentals.views import assign_plan, chances, lead_sets, plan, plan_days, stock_plan

urlpatterns: list[URLPattern] = [
    path("plan/", plan.plan, name="plan"),
    path("plan/chances/", chances.chances, name="chances"),
    path("plan/kits/<str:code>/lend/", plan.lend, name="plan_lend"),
    path("plan/loans/<row:pk>/kit/", plan.swap, name="plan_swap"),
    path("plan/assign/", assign_plan.plan_assign, name="plan_assign"),
    path("plan/assign/<row:pk>/pin/", assign_plan.pin, name="plan_pin"),
    path("setup/days/", plan_days.plan_days, name="plan_days"),
    path("setup/days/here/", plan_days.own_days, name="own_days"),
    path("setup/days/post/new/", plan_days.transit_new, name="transit_new"),
    path("setup/days/post/<slug:place>/", plan_days.transit, name="transit"),
    path("setup/days/post/<slug:place>/forget/", plan_days.transit_drop, name="transit_drop"),
    path("plan/stock/", stock_plan.shopping, name="plan_stock"),
    path("plan/stock/paper/", stock_plan.shopping_pdf, name="plan_stock_pdf"),
    path("plan/stock/<str:form>/", stock_plan.shopping_export, name="plan_stock_export"),
    path("plan/lead-sets/", lead_sets.leads, name="plan_leads"),
    path("plan/lead-sets/<str:form>/", lead_sets.leads_export, name="plan_leads_export"),
]
