"""The addresses of the desk's pages: what is read, and what is done with one press."""

from django.urls import path

from .views import (
    components,
    customers,
    due,
    find,
    log,
    mails,
    photos,
    ranges,
    sheets,
    today,
    vehicles,
    what_if,
)

urlpatterns = [
    path("", today.today, name="today"),
    path("find/", find.find, name="find"),
    path("customers/", customers.customers, name="customers"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("vehicles/", vehicles.vehicles, name="vehicles"),
    path("vehicles/<int:pk>/", vehicles.vehicle, name="vehicle"),
    path("vehicles/<int:pk>/what-if/", what_if.what_if, name="what_if"),
    path("vehicles/<int:pk>/sheet.json", sheets.vehicle_sheet, name="vehicle_sheet"),
    path("sheets/import/", sheets.sheet_import, name="sheet_import"),
    path("due/", due.due, name="due"),
    path("due/<int:pk>/", due.due_item, name="due_item"),
    path("due/<int:pk>/booked/", due.due_booked, name="due_booked"),
    path("due/<int:pk>/unbooked/", due.due_unbooked, name="due_unbooked"),
    path("due/<int:pk>/snooze/", due.due_snooze, name="due_snooze"),
    path("reverifications/", due.reverifications, name="reverifications"),
    path("mails/", mails.mails, name="mails"),
    path("mails/<int:pk>/", mails.mail, name="mail"),
    path("mails/<int:pk>/html/", mails.mail_html, name="mail_html"),
    path("mails/<int:pk>/retry/", mails.mail_retry, name="mail_retry"),
    path("mails/<int:pk>/settle/", mails.mail_settle, name="mail_settle"),
    path("log/", log.log, name="log"),
    path("ranges/", ranges.ranges, name="ranges"),
    path("ranges/<int:pk>/", ranges.model_range, name="range"),
    path("photos/<uuid:client_id>/", photos.photo, name="photo"),
    path("photos/<uuid:client_id>/small/", photos.photo_small, name="photo_small"),
    path("components/", components.components, name="components"),
    path("components/<int:pk>/", components.component, name="component"),
]
