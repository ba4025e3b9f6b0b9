"""Who and what the names in a row of past firings mean."""

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from firings.services.past.known import KnownKiln, KnownPerson, Past
from studio.services.lists.fates import RefusedError
from studio.services.lists.known_glass import GlassIndex, KnownGlass
from studio.services.lists.values import folded

Named = TypeVar("Named")


class Names:
    """Kilns, people and glasses by what rows call them.

    Examples
    --------
    >>> from datetime import date
    >>> from firings.services.past.known import Words
    >>> inka = KnownPerson(3, "Inka Vale", "inka")
    >>> heron = KnownKiln(1, "Heron", 950.0)
    >>> words = Words({}, {}, {}, {}, "opened", ())
    >>> past = Past((heron,), (inka,), (), (), (), (), 3, words, date(2026, 5, 4))
    >>> Names(past).kiln(" heron").key, Names(past).person("INKA", "makers").name
    (1, 'Inka Vale')
    """

    def __init__(self, past: Past) -> None:
        self._kilns = _by_name((kiln.name, kiln) for kiln in past.kilns)
        self._people = _by_name((person.name, person) for person in past.people)
        self._signs_in = {person.signs_in_as: person for person in past.people}
        self._glass = GlassIndex(past.families, past.kinds)
        self._glass_says = _by_name((kind.says, kind) for kind in past.kinds)

    def kiln(self, cell: str) -> KnownKiln:
        """Raises `RefusedError` "kiln_unknown" or "kiln_ambiguous"."""
        found = self._kilns.get(folded(cell), [])
        if len(found) != 1:
            raise RefusedError("kiln_ambiguous" if found else "kiln_unknown", "kiln", cell=cell)
        return found[0]

    def person(self, cell: str, column: str) -> KnownPerson:
        """By name, or by the name with which they sign in where several are called so.

        Raises `RefusedError` "person_unknown" or "person_ambiguous".
        """
        found = self._people.get(folded(cell), [])
        if len(found) == 1:
            return found[0]
        signs_in = self._signs_in.get(cell.strip() if found else folded(cell))
        if signs_in is None:
            code = "person_ambiguous" if found else "person_unknown"
            raise RefusedError(code, column, cell=cell)
        return signs_in

    def family(self, cell: str) -> str:
        """Raises `RefusedError` "family_unknown"."""
        return self._glass.family(cell)

    def glass(self, cell: str) -> KnownGlass:
        """By its code, its colour, or as the site calls it in full.

        Raises `RefusedError` "glass_not_here" or "glass_ambiguous".
        """
        in_full = self._glass_says.get(folded(cell), [])
        if len(in_full) == 1:
            return in_full[0]
        for name in ("code", "colour"):
            found = self._glass.find({name: cell})
            if found is not None:
                return found
        raise RefusedError("glass_not_here", "glass", cell=cell)


def word_of(cell: str, column: str, words: Mapping[str, str]) -> str:
    """The code of a word: as the site writes it, up to its comma or bracket, or the code itself.

    Raises
    ------
    RefusedError
        "not_one_of"

    Examples
    --------
    >>> word_of("Haze", "faults", {"devitrification": "haze (devitrification)"})
    'devitrification'
    """
    said = folded(cell.replace("_", " "))
    heads: dict[str, list[str]] = {}
    for code, word in words.items():
        if said in (folded(word), code.replace("_", " ")):
            return code
        head = folded(word.partition(",")[0].partition(" (")[0])
        heads.setdefault(head, []).append(code)
    if len(found := heads.get(said, [])) == 1:
        return found[0]
    raise RefusedError("not_one_of", column, cell=cell, words="; ".join(words.values()))


def words_in(cell: str, column: str, words: Mapping[str, str]) -> tuple[str, ...]:
    """The codes of several words, parted by semicolons, or by commas where no word has one.

    Raises
    ------
    RefusedError
        "not_one_of"

    Examples
    --------
    >>> kinds = {"needles": "needles, spikes at the edge", "stuck": "stuck"}
    >>> words_in("Needles, spikes at the edge; stuck", "faults", kinds)
    ('needles', 'stuck')
    >>> words_in("stuck, needles", "faults", kinds)
    ('stuck', 'needles')
    """
    found: list[str] = []
    for part in parts_of(cell):
        try:
            found.append(word_of(part, column, words))
        except RefusedError:
            several = [each for each in part.split(",") if each.strip()]
            if len(several) < 2:
                raise
            found += [word_of(each, column, words) for each in several]
    return tuple(dict.fromkeys(found))


def verdict_of(cell: str, words: Mapping[int, str]) -> int:
    """A verdict by its word or its number from −2 to 2.

    Raises
    ------
    RefusedError
        "not_one_of"

    Examples
    --------
    >>> words = {-1: "a touch short", 0: "as wanted", 1: "a touch far"}
    >>> [verdict_of(cell, words) for cell in ("As Wanted", "−1", "+1", "0.0")]
    [0, -1, 1, 0]
    """
    said = folded(cell)
    for value, word in words.items():
        if said == folded(word):
            return value
    try:
        number = float(said.replace("−", "-").replace(",", "."))
    except ValueError:
        number = float("nan")
    if number in words:
        return int(number)
    told = "; ".join(f"{word} ({value})".replace("(-", "(−") for value, word in words.items())
    raise RefusedError("not_one_of", "verdict", cell=cell, words=told)


def parts_of(cell: str) -> list[str]:
    """What a cell lists, parted by semicolons or lines.

    Examples
    --------
    >>> parts_of("Tide bowl; Moss tile;")
    ['Tide bowl', 'Moss tile']
    """
    return [part for each in cell.replace("\n", ";").split(";") if (part := " ".join(each.split()))]


def _by_name(named: Iterable[tuple[str, Named]]) -> Mapping[str, Sequence[Named]]:
    found: dict[str, list[Named]] = {}
    for name, each in named:
        found.setdefault(folded(name), []).append(each)
    return found
