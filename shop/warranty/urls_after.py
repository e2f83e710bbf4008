from django.urls import path

from shop.warranty import views_after

urlpatterns = [
    path("rechecks/", views_after.rechecks, name="rechecks"),
    path("rechecks/<int:certificate>/<slug:key>/", views_after.recheck, name="recheck"),
    path("life/<int:vehicle>/film-off/", views_after.film_off, name="film-off"),
    path("life/<int:vehicle>/new-owner/", views_after.new_owner, name="new-owner"),
]
