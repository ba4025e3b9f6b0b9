"""Lists of glass that the demo studio's keeper brought in: one that is done, one to look at."""

from datetime import date, timedelta

from studio.actions.list_import import list_begin, list_preview, list_take_in
from studio.actions.list_run import list_run
from studio.models import GlassLot, ListImport, Person
from studio.services.lists.table import read_table

ORDER = (
    "Family;Code;Colour;Form;Thickness mm;Sheet size;Pieces;Weight (kg);Bought on;Price\r\n"
    "Millrace 90;M-001;clear;sheet;3;500 x 400;4;;{day};44,00 €\r\n"
    "Millrace 90;M-060;clear;frit;;;;1,5;{day};18,50 €\r\n"
    "Millrace 96;N-014;moss;rod;6;;24;;{day};21,60 €\r\n"
)
COUNT = (
    "lot,colour,length (mm),width (mm),pieces,mass (g),place\r\n"
    "{sheet},sea green,500,400,2,,rack B\r\n"
    "{sheet},sea green,400,320,0,,rack B\r\n"
    "{sheet},white,500,400,2,,rack B\r\n"
    "{billet},amber,,,,5000,drawer 2\r\n"
    ",teal,500,400,1,,rack D\r\n"
    ",turquoise,500,a few,1,,rack D\r\n"
    "9999,,,,,,rack D\r\n"
)


def lists_make(keeper: Person, today: date) -> None:
    bought = today - timedelta(days=5)
    done = _previewed(keeper, "mill-order.csv", ORDER.format(day=f"{bought:%d.%m.%Y}"))
    list_run(taken=list_begin(taken=done))
    sheet = GlassLot.objects.get(kind__colour="sea green")
    billet = GlassLot.objects.get(kind__form="billet")
    counted = COUNT.format(sheet=sheet.pk, billet=billet.pk)
    _previewed(keeper, "shelf-count.csv", counted)


def _previewed(keeper: Person, name: str, text: str) -> ListImport:
    raw = text.encode()
    taken = list_take_in(kind="shelf", by=keeper, name=name, raw=raw, table=read_table(raw))
    return list_preview(
        taken=taken, places=taken.places, decimal=taken.decimal, day_first=taken.day_first
    )
