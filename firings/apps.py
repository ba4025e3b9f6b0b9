from django.apps import AppConfig


class FiringsConfig(AppConfig):
    name = "firings"
    verbose_name = "What did happen, and what to do next"

    def ready(self) -> None:
        from firings import (  # noqa: F401
            device_parts,
            following,
            leaving,
            list_parts,
            relations,
            schedule_parts,
            trail_parts,
        )
