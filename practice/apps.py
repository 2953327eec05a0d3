from django.apps import AppConfig

from practice.lib.addresses import register_converters


class PracticeConfig(AppConfig):
    name = "practice"

    def ready(self):
        register_converters()
