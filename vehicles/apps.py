from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    name = "vehicles"
    verbose_name = "Vehicles and how they are towed"
    default_auto_field = "django.db.models.BigAutoField"
