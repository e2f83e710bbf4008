from django.urls import path

from shop.public import views

urlpatterns = [
    path("check/", views.check_any, name="check-any"),
    path("check/<str:token>/", views.check, name="check"),
    # The QR says the address in capitals, which makes the code coarser and easier to scan.
    path("CHECK/<str:token>/", views.check, name="check-scanned"),
]
