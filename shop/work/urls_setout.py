from django.urls import path

from shop.work import views_cars, views_setout

urlpatterns = [
    path("cars/", views_cars.cars, name="cars"),
    path("cars/<int:job>/set-out/", views_setout.set_out_page, name="set-out"),
    path("cars/<int:job>/set-out/<slug:panel>/", views_setout.set_out_panel, name="set-out-panel"),
]
