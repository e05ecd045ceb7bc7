"""The addresses of the office."""

from django.urls import path

from .views import limits, lists, records, rules

app_name = "office"
urlpatterns = [
    path("", lists.home, name="home"),
    path("rules/", lists.rules, name="rules"),
    path("rules/new/", rules.rule_add, name="rule_add"),
    path("rules/<int:pk>/", rules.rule_change, name="rule_change"),
    path("kinds/", lists.kinds, name="kinds"),
    path("kinds/new/", records.kind_add, name="kind_add"),
    path("kinds/<int:pk>/", records.kind_change, name="kind_change"),
    path("checks/", lists.checks, name="checks"),
    path("checks/new/", records.check_add, name="check_add"),
    path("checks/<int:pk>/", records.check_change, name="check_change"),
    path("limits/", limits.limits, name="limits"),
    path("limits/<slug:code>/", limits.limit_change, name="limit_change"),
    path("people/", lists.people, name="people"),
    path("people/new/", records.person_add, name="person_add"),
    path("people/<int:pk>/", records.person_change, name="person_change"),
]
