from django.urls import path

from shop.find import views

urlpatterns = [
    path("find/", views.find, name="find"),
    path("life/<int:vehicle>/", views.life, name="life"),
    path("last-time/<int:job>/", views.last_time_page, name="last-time"),
]
