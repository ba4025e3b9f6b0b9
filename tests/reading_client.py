"""A browser for tests that read pages: what it gets has ordinary spaces alone.

Between a number and its unit pages have a no-break space, which looks the same in a test and in its
failure. `tests/studio/test_formats.py` looks for it with Django's own client.
"""

from typing import Any

from django.test import Client

NO_BREAKS = ("\u00a0", "&nbsp;")


class ReadingClient(Client):
    def request(self, **asked: Any) -> Any:
        response = super().request(**asked)
        if not response.streaming and response.get("Content-Type", "").startswith("text/html"):
            for sign in NO_BREAKS:
                response.content = response.content.replace(sign.encode(), b" ")
        return response
