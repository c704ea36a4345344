from django.apps import AppConfig


class BowlersConfig(AppConfig):
    default_auto_field = "django.db.models.BigAutoField"
    name = "bowlers"
    verbose_name = "People"
