from django.urls import path

from shop.film import views, views_codes, views_cuts, views_mixes

urlpatterns = [
    path("film-room/rolls/new/", views.new_roll, name="new-roll"),
    path("film-room/lots/new/", views.new_lot, name="new-lot"),
    path("film-room/lots/<int:lot>/quarantine/", views.quarantine, name="quarantine"),
    path("film-room/lots/<int:lot>/free/", views.free, name="free-lot"),
    path("film-room/lots/<int:lot>/opened/", views.open_lot, name="open-lot"),
    path("film-room/lots/<int:lot>/reserve/", views.reserve, name="reserve"),
    path("film-room/rolls/<int:roll>/opened/", views.open_roll, name="open-roll"),
    path("film-room/rolls/<int:roll>/scrap/", views_cuts.scrap_roll, name="scrap-roll"),
    path("film-room/rolls/<int:roll>/offcut/", views_cuts.keep_offcut, name="keep-offcut"),
    path("film-room/films/<int:material>/", views.change_film, name="change-film"),
    path("film-room/rolls/<int:roll>/label/", views_codes.roll_label, name="roll-label"),
    path("film-room/rolls/read/", views_codes.read_roll, name="read-roll"),
    path("cars/new/read/", views_codes.read_vin, name="read-vin"),
    path("film-room/offcuts/", views_cuts.offcuts, name="offcuts"),
    path("film-room/offcuts/<int:offcut>/scrap/", views_cuts.scrap_offcut, name="scrap-offcut"),
    path("film-room/mixes/", views_mixes.mixes, name="mixes"),
    path("film-room/mixes/new/", views_mixes.new_mix, name="new-mix"),
]
