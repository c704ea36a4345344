from django.apps import AppConfig


class ProshopConfig(AppConfig):
    name = "proshop"
    verbose_name = "Pro shop"
