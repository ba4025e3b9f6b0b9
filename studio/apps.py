from django.apps import AppConfig
from django.db.backends.signals import connection_created


class StudioConfig(AppConfig):
    name = "studio"
    verbose_name = "The site, its people, its kilns, its glass"

    def ready(self) -> None:
        # They register what they find.
        from studio import device_parts, list_parts, relations, trail_parts  # noqa: F401
        from studio.queries.names import teach_name_key

        connection_created.connect(teach_name_key)
