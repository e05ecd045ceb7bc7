"""Where the papers lie, and where the code on a tow card leads."""

from django.urls import path

from . import views

app_name = "papers"
urlpatterns = [
    path("vehicles/<int:pk>/tow-card.pdf", views.tow_card_pdf, name="tow_card"),
    path("components/<int:pk>/label.pdf", views.label_pdf, name="label"),
    path("components/<int:pk>/inspections.pdf", views.inspection_sheet_pdf, name="inspections"),
    path("c/<str:token>/", views.card, name="card"),
]
