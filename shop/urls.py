"""Where each door stands. The screens bring their own lists."""

from django.urls import include, path

from shop import theme

urlpatterns = [
    path("theme/", theme.choose, name="theme"),
    path("accounts/", include("allauth.urls")),
    path("", include("shop.reminders.urls")),
    path("office/", include("shop.office.urls")),
    path("", include("shop.desk.urls")),
]
