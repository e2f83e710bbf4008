from django.urls import path

from shop.offline import views

urlpatterns = [
    path("sync/entries", views.entries, name="sync-entries"),
    path("sync/upload/<str:pk>", views.upload, name="sync-upload"),
]
