from django.apps import AppConfig
from django.db.models.signals import post_migrate

from crews import founding


class CrewsConfig(AppConfig):
    name = "crews"

    def ready(self) -> None:
        # auth's own tables migrate before ours: its signal comes after them, ours after both.
        post_migrate.connect(founding.found, sender=self)
