"""The kinds of glass that are on record, and which of them a row of a list means."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from studio.services.lists.fates import RefusedError
from studio.services.lists.values import MM, Reading, folded, one_of, text

FORMS = {form: form for form in ("sheet", "frit", "powder", "stringer", "rod", "billet", "other")}
LOOKS = {
    look: look for look in ("transparent", "opalescent", "striker", "iridised", "dichroic", "float")
}
LONGEST = {"family": 60, "maker": 80, "code": 40, "colour": 80}
THINNEST_MM, THICKEST_MM = 0.1, 100.0


@dataclass(frozen=True)
class KnownGlass:
    """A kind of glass as it is on record, or as an earlier row makes it.

    Parameters
    ----------
    key : of its row; None for one that is only made
    family : the family's name
    thickness : mm, or None
    measure : by which its lots are measured; empty where it has none
    """

    key: int | None
    family: str
    maker: str
    code: str
    colour: str
    form: str
    look: str
    thickness: float | None
    measure: str = ""

    @property
    def says(self) -> str:
        """As a list calls it.

        Examples
        --------
        >>> KnownGlass(1, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0).says
        'moss sheet 3 mm (s-204)'
        """
        thickness = f" {self.thickness:g} mm" if self.thickness else ""
        return f"{self.colour} {self.form}{thickness}{f' ({self.code})' if self.code else ''}"


def described(cells: Mapping[str, str], reading: Reading) -> dict[str, Any]:
    """What a row says of its glass: the fields of `KnownGlass` that are not empty.

    Parameters
    ----------
    cells : by the name of their column
    reading : how numbers are written

    Raises
    ------
    RefusedError
        for a cell that can't be read

    Examples
    --------
    >>> described({"colour": "moss", "form": "Sheet", "thickness": "3 mm", "code": ""}, Reading())
    {'colour': 'moss', 'form': 'sheet', 'thickness': 3.0}
    """
    found: dict[str, Any] = {
        name: text(cells[name], name, longest)
        for name, longest in LONGEST.items()
        if cells.get(name)
    }
    if cells.get("form"):
        found["form"] = one_of(cells["form"], "form", FORMS)
    if cells.get("look"):
        found["look"] = one_of(cells["look"], "look", LOOKS)
    if cells.get("thickness"):
        found["thickness"] = _thickness(cells["thickness"], reading)
    return found


def _thickness(cell: str, reading: Reading) -> float:
    number, unit = reading.number(cell, "thickness")
    unit = unit or reading.units.get("thickness", "") or "mm"
    if unit not in MM:
        raise RefusedError("unit_unknown", "thickness", cell=cell, units=", ".join(MM))
    thickness = float(number * MM[unit])
    if not THINNEST_MM <= thickness <= THICKEST_MM:
        raise RefusedError(
            "beyond", "thickness", there=f"{thickness:g}", least="0.1", most="100", unit="mm"
        )
    return thickness


class GlassIndex:
    """Kinds of glass, found by what a row says of them.

    Examples
    --------
    >>> moss = KnownGlass(1, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0)
    >>> GlassIndex(["soft 90"], [moss]).find({"code": "S-204"}).key
    1
    """

    def __init__(self, families: Iterable[str], kinds: Iterable[KnownGlass]) -> None:
        self._families = {folded(name): name for name in families}
        self._by_code: dict[str, list[KnownGlass]] = {}
        self._by_colour: dict[str, list[KnownGlass]] = {}
        for kind in kinds:
            self.add(kind)

    def add(self, kind: KnownGlass) -> None:
        """Take in a kind that a row makes, so that a later row finds it.

        Examples
        --------
        >>> index = GlassIndex(["soft 90"], [])
        >>> index.add(KnownGlass(None, "soft 90", "", "", "moss", "frit", "transparent", None))
        >>> index.find({"colour": "moss"}).form
        'frit'
        """
        if kind.code:
            self._by_code.setdefault(folded(kind.code), []).append(kind)
        self._by_colour.setdefault(folded(kind.colour), []).append(kind)

    def change(self, kind: KnownGlass, **fields: Any) -> KnownGlass:
        """Put another in a kind's place, with some fields otherwise.

        Examples
        --------
        >>> moss = KnownGlass(1, "soft 90", "", "", "moss", "rod", "transparent", 6.0)
        >>> index = GlassIndex(["soft 90"], [moss])
        >>> index.change(moss, measure="count").measure, index.find({"colour": "moss"}).measure
        ('count', 'count')
        """
        other = replace(kind, **fields)
        for kinds in (
            self._by_code.get(folded(kind.code), []),
            self._by_colour.get(folded(kind.colour), []),
        ):
            kinds[:] = [each for each in kinds if each is not kind]
        self.add(other)
        return other

    def family(self, said: str) -> str:
        """The name of a family as it is on record.

        Raises
        ------
        RefusedError
            "family_unknown"

        Examples
        --------
        >>> GlassIndex(["soft 90"], []).family("Soft  90")
        'soft 90'
        """
        known = self._families.get(folded(said))
        if known is None:
            raise RefusedError("family_unknown", "family", cell=said)
        return known

    def find(self, said: Mapping[str, Any]) -> KnownGlass | None:
        """The kind that agrees with all that is said; None where none does.

        Parameters
        ----------
        said : by `described`

        Raises
        ------
        RefusedError
            "family_unknown", "glass_not_named" without colour and code, or "glass_ambiguous"

        Examples
        --------
        >>> moss = [KnownGlass(key, "soft 90", "", "", "moss", "sheet", "transparent", thick)
        ...         for key, thick in ((1, 3.0), (2, 6.0))]
        >>> index = GlassIndex(["soft 90"], moss)
        >>> index.find({"colour": "Moss", "thickness": 6.0}).key
        2
        >>> index.find({"colour": "moss"})
        Traceback (most recent call last):
        studio.services.lists.fates.RefusedError: glass_ambiguous
        """
        if "family" in said:
            self.family(said["family"])
        if "code" in said:
            among = self._by_code.get(folded(said["code"]), [])
        elif "colour" in said:
            among = self._by_colour.get(folded(said["colour"]), [])
        else:
            raise RefusedError("glass_not_named", "colour")
        agreeing = [kind for kind in among if not differing(kind, said)]
        if len(agreeing) > 1:  # of several, one of which nothing is left unsaid
            exact = [kind for kind in agreeing if _says_all(kind, said)]
            agreeing = exact if len(exact) == 1 else agreeing
        if len(agreeing) > 1:
            raise RefusedError("glass_ambiguous", "code", kinds=len(agreeing))
        return agreeing[0] if agreeing else None

    def same_code(self, kind: KnownGlass) -> KnownGlass | None:
        """Another kind of that maker with that code in that form and thickness.

        Examples
        --------
        >>> moss = KnownGlass(1, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0)
        >>> index = GlassIndex(["soft 90"], [moss])
        >>> index.same_code(replace(moss, key=None, colour="fern")).colour
        'moss'
        """
        for each in self._by_code.get(folded(kind.code), []) if kind.code else ():
            alike = (each.maker, each.code, each.form, each.thickness or 0.0)
            if alike == (kind.maker, kind.code, kind.form, kind.thickness or 0.0) and (
                each.key is None or each.key != kind.key
            ):
                return each
        return None


def new_glass(index: GlassIndex, said: Mapping[str, Any]) -> KnownGlass:
    """The kind that a row makes, of which no other is on record.

    Raises
    ------
    RefusedError
        "glass_unknown" where family, colour or form is not said; "code_of_another"

    Examples
    --------
    >>> new_glass(GlassIndex(["soft 90"], []), {"colour": "moss"})
    Traceback (most recent call last):
    studio.services.lists.fates.RefusedError: glass_unknown
    """
    missing = [name for name in ("family", "colour", "form") if name not in said]
    if missing:
        raise RefusedError("glass_unknown", missing[0], missing=", ".join(missing))
    kind = KnownGlass(
        key=None,
        family=index.family(said["family"]),
        maker=said.get("maker", ""),
        code=said.get("code", ""),
        colour=said["colour"],
        form=said["form"],
        look=said.get("look", "transparent"),
        thickness=said.get("thickness"),
    )
    other = index.same_code(kind)
    if other is not None:
        raise RefusedError("code_of_another", "code", glass=other.says)
    return kind


def differing(kind: KnownGlass, said: Mapping[str, Any]) -> str:
    """The first column in which a row says otherwise than is on record; empty where it agrees.

    Examples
    --------
    >>> moss = KnownGlass(1, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0)
    >>> differing(moss, {"colour": "Moss", "thickness": 3.0}), differing(moss, {"form": "rod"})
    ('', 'form')
    """
    for name, value in said.items():
        stands = getattr(kind, name)
        same = stands == value if not isinstance(value, str) else folded(stands) == folded(value)
        if not same:
            return name
    return ""


def _says_all(kind: KnownGlass, said: Mapping[str, Any]) -> bool:
    names = ("maker", "code", "thickness")
    return all((getattr(kind, name) or None) == said.get(name) for name in names)
