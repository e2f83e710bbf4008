from django.urls import path

from shop.work import (
    urls_setout,
    urls_stock,
    views_bay,
    views_car,
    views_defects,
    views_paper,
    views_sign,
    views_wall,
)

urlpatterns = [
    path("bay/", views_bay.in_the_bay, name="bay"),
    path("bay/wall/", views_wall.wall, name="wall"),
    path("bay/<int:job>/", views_bay.car_in_the_bay, name="bay-car"),
    path("bay/<int:job>/sign/<slug:meaning>/", views_sign.sign_page, name="bay-sign"),
    path("bay/<int:job>/defects/<int:defect>/", views_defects.settle, name="defect"),
    path("bay/<int:job>/<str:place>/", views_bay.piece_in_the_bay, name="bay-piece"),
    path("bay/<int:job>/<str:place>/<slug:stage>/", views_bay.stage_at_work, name="bay-stage"),
    path("bay/<int:job>/<str:place>/<slug:stage>/wrong/", views_defects.wrong, name="wrong"),
    path("cars/<int:job>/", views_car.car, name="car"),
    path("cars/<int:job>/job-card.pdf", views_paper.job_card, name="job-card"),
    path("cars/<int:job>/hand-over/", views_car.hand_over, name="hand-over"),
    *urls_setout.urlpatterns,
    *urls_stock.urlpatterns,
]
