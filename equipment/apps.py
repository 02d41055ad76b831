from django.apps import AppConfig
from django.db.models.signals import post_migrate


class EquipmentConfig(AppConfig):
    name = "equipment"

    def ready(self) -> None:
        from equipment import checks  # noqa: F401
        from equipment.models import triggers

        post_migrate.connect(triggers.put_back, sender=self)
