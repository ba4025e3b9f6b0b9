from django.apps import AppConfig


class SchedulesConfig(AppConfig):
    name = "schedules"
    verbose_name = "What is meant to happen in a kiln"

    def ready(self) -> None:
        from schedules import device_parts, relations, trail_parts  # noqa: F401
