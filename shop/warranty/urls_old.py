from django.urls import path

from shop.warranty import views_old

urlpatterns = [
    path("old-papers/", views_old.old_papers, name="old-papers"),
    path("old-papers/<int:certificate>/", views_old.old_paper, name="old-paper"),
    path("old-papers/<int:certificate>/withdraw/", views_old.withdraw_old, name="old-paper-withdraw"),
]
