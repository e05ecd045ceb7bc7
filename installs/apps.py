from django.apps import AppConfig


class InstallsConfig(AppConfig):
    name = "installs"
    verbose_name = "What is fitted and how it is proven"
    default_auto_field = "django.db.models.BigAutoField"
