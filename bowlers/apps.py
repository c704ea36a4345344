from django.apps import AppConfig


class BowlersConfig(AppConfig):
    default_auto_field = "django.db.models.BigAutoField"
    name = "bowlers"
    verbose_name = "People"

    def ready(self) -> None:
        # Models can be imported from here on, not when this module is read.
        from bowlers.customer_file import CustomerFile
        from bowlers.steps import register_steps
        from proshop.files.kinds import register

        register_steps()
        register(CustomerFile())
