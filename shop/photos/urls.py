from django.urls import path, re_path

from shop.photos import views

urlpatterns = [
    path("photos/<int:pk>/original", views.original, name="photo-original"),
    re_path(r"^photos/(?P<pk>\d{1,18})/(?P<variant>screen|print)$", views.smaller, name="photo"),
]
