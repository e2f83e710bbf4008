from django.urls import path

from shop.documents import views

urlpatterns = [
    path("shop/", views.shop, name="shop"),
    path("shop/settings/", views.settings_page, name="settings"),
    path("shop/documents/<int:document>/", views.document, name="document"),
]
