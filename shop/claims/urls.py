from django.urls import path

from shop.claims import views, views_acts

urlpatterns = [
    path("claims/", views.claims, name="claims"),
    path("claims/new/", views.new_claim, name="new-claim"),
    path("claims/<int:claim>/", views.claim, name="claim"),
    path("claims/<int:claim>/photos/", views_acts.photos, name="claim-photos"),
    path("claims/<int:claim>/glue-side/", views_acts.glue_side, name="claim-glue-side"),
    path("claims/<int:claim>/supplier/", views_acts.supplier, name="claim-supplier"),
    path("claims/<int:claim>/decide/", views_acts.decide, name="claim-decide"),
    path("claims/<int:claim>/repair/", views_acts.repair, name="claim-repair"),
    path("claims/<int:claim>/send/", views_acts.send_letter, name="claim-send"),
    path("claims/<int:claim>/letter/<int:n>/", views_acts.print_letter, name="claim-letter"),
    path("claims/<int:claim>/letter/<int:n>.pdf", views_acts.letter_pdf, name="claim-letter-pdf"),
]
