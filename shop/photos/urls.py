from django.urls import re_path

from shop.photos import views

urlpatterns = [
    re_path(r"^photos/(?P<pk>[0-9]{1,18})/original/?$", views.original, name="photo-original"),
    re_path(r"^photos/(?P<pk>[0-9]{1,18})/(?P<variant>screen|print)/?$", views.smaller, name="photo"),
]
