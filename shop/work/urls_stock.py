from django.urls import path

from shop.work import views_codes, views_stock

urlpatterns = [
    path("bay/codes/", views_codes.codes_in_photo, name="read-codes"),
    path("film-room/", views_stock.film_room, name="film-room"),
    path("film-room/lots/<int:lot>/", views_stock.lot, name="lot"),
    path("film-room/rolls/<int:roll>/", views_stock.roll, name="roll"),
    path("film-room/rolls/<int:roll>/cut/", views_stock.cut, name="cut-film"),
    path("film-room/offcuts/<int:offcut>/lay/", views_stock.lay_offcut, name="lay-offcut"),
]
