from django.urls import include, path

urlpatterns = [path("", include("shop.offline.urls"))]
