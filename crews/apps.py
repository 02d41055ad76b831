from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.db.models.signals import post_migrate

from crews import founding


class CrewsConfig(AppConfig):
    name = "crews"

    def ready(self) -> None:
        # auth's own tables migrate before ours: its signal comes after them, ours after both.
        post_migrate.connect(founding.found, sender=self)
        # Of the models: not before they are there.
        from crews import sessions

        # However somebody signs in, Django says so here.
        user_logged_in.connect(sessions.begin)
