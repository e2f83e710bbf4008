from django.urls import path

from shop.warranty import views_mail

urlpatterns = [
    path("cars/<int:job>/care/", views_mail.care, name="care"),
    path("cars/<int:job>/care.pdf", views_mail.care_pdf, name="care-pdf"),
    path("cars/<int:job>/care.ics", views_mail.care_calendar, name="care-calendar"),
    path("cars/<int:job>/send/", views_mail.send_papers, name="send-papers"),
    path("shop/mail/", views_mail.mails, name="mails"),
    path("shop/mail/test/", views_mail.test_mail, name="test-mail"),
    path("shop/mail/<int:sending>/", views_mail.send_again, name="send-again"),
]
