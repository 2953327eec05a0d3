from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class ProjectConfig(AppConfig):
    """The top of the program. Last of the installed apps, so that it sees all others."""

    name = "practice.project"
    label = "project"

    def ready(self):
        from practice.project.furnish import furnish_after_migration, make_way_for_migrations

        # The signal comes once for each app that has models. The last one is enough.
        last = [app for app in self.apps.get_app_configs() if app.models_module][-1]
        pre_migrate.connect(make_way_for_migrations, sender=last)
        post_migrate.connect(furnish_after_migration, sender=last)
