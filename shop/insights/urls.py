from django.urls import path

from shop.insights import views

urlpatterns = [path("shop/pace/", views.pace, name="pace")]
