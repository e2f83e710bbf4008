from django.urls import path

from shop.film import views

urlpatterns = [
    path("film-room/", views.film_room, name="film-room"),
    path("film-room/rolls/new/", views.new_roll, name="new-roll"),
    path("film-room/lots/new/", views.new_lot, name="new-lot"),
    path("film-room/lots/<int:lot>/", views.lot, name="lot"),
    path("film-room/lots/<int:lot>/quarantine/", views.quarantine, name="quarantine"),
    path("film-room/lots/<int:lot>/free/", views.free, name="free-lot"),
    path("film-room/lots/<int:lot>/opened/", views.open_lot, name="open-lot"),
    path("film-room/rolls/<int:roll>/opened/", views.open_roll, name="open-roll"),
]
