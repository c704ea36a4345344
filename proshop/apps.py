from django.apps import AppConfig


class ProshopConfig(AppConfig):
    name = "proshop"
    verbose_name = "Pro shop"

    def ready(self) -> None:
        from proshop.accounts import sessions  # noqa: F401  listens to who signs in
