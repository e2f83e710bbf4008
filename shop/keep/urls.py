from django.urls import path

from shop.keep import views_book, views_customers, views_safe

urlpatterns = [
    path("cars/<int:job>/book/", views_book.of_job, name="car-book"),
    path("shop/book/", views_book.of_shop, name="shop-book"),
    path("shop/safe/", views_safe.safe, name="safe"),
    path("shop/customers/", views_customers.customers, name="customers"),
    path("shop/customers/<int:customer>/", views_customers.customer, name="customer"),
    path("shop/customers/<int:customer>/data/", views_customers.data, name="customer-data"),
    path("shop/customers/<int:customer>/erase/", views_customers.erase, name="customer-erase"),
]
