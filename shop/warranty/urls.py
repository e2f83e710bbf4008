from django.urls import path

from shop.warranty import urls_after, urls_mail, urls_old, views

urlpatterns = [
    path("cars/<int:job>/certificate/", views.certificate, name="certificate"),
    path("cars/<int:job>/certificate/<int:n>/", views.revision, name="certificate-revision"),
    path("cars/<int:job>/certificate/<int:n>.pdf", views.pdf, name="certificate-pdf"),
    path("cars/<int:job>/certificate/print/", views.print_again, name="certificate-print"),
    path("cars/<int:job>/certificate/correct/", views.correct, name="certificate-correct"),
    path("cars/<int:job>/certificate/withdraw/", views.withdraw, name="certificate-withdraw"),
    *urls_after.urlpatterns,
    *urls_mail.urlpatterns,
    *urls_old.urlpatterns,
]
