"""The one door that stands open to the world: stopping reminders."""

from django.urls import path

from . import views

urlpatterns = [path("stop/<str:token>/", views.stop, name="stop")]
