from django.urls import path

from shop.keep import views_book

urlpatterns = [
    path("cars/<int:job>/book/", views_book.of_job, name="car-book"),
    path("shop/book/", views_book.of_shop, name="shop-book"),
]
