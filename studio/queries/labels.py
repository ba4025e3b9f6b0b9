"""What is printed on a label, with its code drawn."""

from dataclasses import dataclass

import segno
from django.utils.safestring import SafeString, mark_safe


@dataclass(frozen=True)
class PrintedLabel:
    """A label as it is printed: what stands on it, and its address as a drawing (ISO/IEC 18004)."""

    name: str
    lines: list[str]
    address: str

    @property
    def drawing(self) -> SafeString:
        """With the margin of four modules that readers need, on white in the dark as well."""
        code = segno.make(self.address, error="m", micro=False)
        drawn = code.svg_inline(border=4, light="#fff", dark="#000", omitsize=True)
        return mark_safe(drawn)  # noqa: S308  drawn by the library from an address of this site
