from django.urls import path

from shop.people import views_door, views_people, views_tablets

urlpatterns = [
    path("", views_door.home, name="home"),
    path("first-start/", views_door.first_start, name="first-start"),
    path("sign-in/", views_door.sign_in, name="sign-in"),
    path("sign-out/", views_door.sign_out, name="sign-out"),
    path("enrol/<str:token>/", views_door.enrol, name="enrol"),
    path("people/", views_people.people, name="people"),
    path("people/new/", views_people.new_person, name="new-person"),
    path("people/<int:person>/", views_people.person, name="person"),
    path("people/<int:person>/pin/", views_people.reset_pin, name="reset-pin"),
    path("people/<int:person>/password/", views_people.reset_password, name="reset-password"),
    path("people/<int:person>/leave/", views_people.leave, name="leave"),
    path("me/", views_people.me, name="me"),
    path("me/password/", views_people.own_password, name="own-password"),
    path("me/pin/", views_people.own_pin, name="own-pin"),
    path("tablets/", views_tablets.tablet_list, name="tablets"),
    path("tablets/<int:tablet>/", views_tablets.tablet_page, name="tablet"),
    path("tablets/<int:tablet>/revoke/", views_tablets.revoke, name="revoke"),
]
