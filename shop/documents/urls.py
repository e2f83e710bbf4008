from django.urls import path

from shop.documents import views, views_documents, views_drafts

urlpatterns = [
    path("shop/", views.shop, name="shop"),
    path("shop/settings/", views.settings_page, name="settings"),
    path("shop/documents/", views_documents.documents, name="documents"),
    path("shop/documents/<int:document>/", views_documents.document, name="document"),
    path("shop/documents/<int:document>/compare/", views_documents.compare, name="document-compare"),
    path("shop/documents/<int:document>/copy/", views_drafts.copy, name="document-copy"),
    path("shop/documents/<int:document>/edit/", views_drafts.edit, name="document-edit"),
    path("shop/documents/<int:document>/publish/", views_drafts.publish, name="document-publish"),
    path("shop/documents/<int:document>/retire/", views_drafts.retire, name="document-retire"),
]
