from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"
    verbose_name = "The site, its people, its kilns, its glass"

    def ready(self) -> None:
        from studio import relations  # noqa: F401  registers its finders
