"""Where each door stands. The screens bring their own lists."""

from django.urls import include, path

from shop import theme, units_shown

urlpatterns = [
    path("theme/", theme.choose, name="theme"),
    path("units/", units_shown.choose, name="units"),
    path("accounts/", include("allauth.urls")),
    path("", include("shop.reminders.urls")),
    path("office/", include("shop.office.urls")),
    path("", include("shop.papers.urls")),
    path("", include("shop.desk.urls")),
]
