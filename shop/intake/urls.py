from django.urls import path

from shop.intake import views_arrival, views_day, views_intake, views_looked, views_paint

urlpatterns = [
    path("cars/new/", views_arrival.new, name="take-in"),
    path("cars/expected/new/", views_day.expect, name="expect-car"),
    path("cars/expected/<int:expected>/", views_day.expected, name="expected"),
    path("cars/<int:job>/promise/", views_day.promise, name="promise"),
    path("cars/<int:job>/change/", views_arrival.change, name="change-car"),
    path("cars/<int:job>/call-off/", views_arrival.call_off, name="call-off"),
    path("cars/<int:job>/intake/", views_intake.intake, name="intake"),
    path("cars/<int:job>/intake.pdf", views_looked.sheet_pdf, name="intake-sheet"),
    path("cars/<int:job>/intake/gauge/", views_looked.gauge, name="gauge"),
    path(
        "cars/<int:job>/intake/tried/before/", views_looked.devices, {"when": "before"}, name="devices-before"
    ),
    path("cars/<int:job>/intake/tried/after/", views_looked.devices, {"when": "after"}, name="devices-after"),
    path("cars/<int:job>/intake/marks/<int:mark>/", views_intake.mark, name="mark"),
    path("cars/<int:job>/intake/paint/<slug:panel>/", views_paint.acceptance, name="paint"),
]
