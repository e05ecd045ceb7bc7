"""Where each door stands. The screens bring their own lists."""

from django.urls import include, path

urlpatterns = [
    path("accounts/", include("allauth.urls")),
]
