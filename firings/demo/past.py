"""What the demo studio brought from before it had a logbook: a card, and a sheet of its firings."""

import io
from datetime import date, timedelta
from decimal import Decimal

from PIL import Image, ImageDraw

from schedules.actions.card import schedule_card_keep
from schedules.services.writing import WrittenSegment
from studio.actions.list_import import list_begin, list_preview, list_take_in
from studio.actions.list_run import list_run
from studio.models import GlassFamily, Kiln, ListImport, Person
from studio.pictures import prepare_picture
from studio.services.lists.table import read_table

NAME = "Fuse from the tin"
SEGMENTS = (
    WrittenSegment(Decimal(300), Decimal(1000)),
    WrittenSegment(Decimal(540), Decimal(1480), Decimal(10)),
    WrittenSegment(None, Decimal(900), Decimal(60)),
    WrittenSegment(Decimal(150), Decimal(700)),
)
SHEET = "Date;Kiln;Program;Piece;Maker;Top (°F);Soak;Result;Notes\r\n"
BEFORE = (
    "{0};{kiln};Fuse from the tin;Moss tile;Mads;1481;0:10;As wanted;\r\n"
    "{1};{kiln};Fuse from the tin;Fern tile;Mads;1474;10 min;a touch short;edges still square\r\n"
    "{2};{kiln};Fuse from the tin;Pear dish;;1480;10;;\r\n"
)
MESSY = BEFORE + (
    "{3};{kiln};Fuse from the tin;Plum tile;Mads;804 C;10;As wanted;by the other controller\r\n"
    "{3};the old one;Fuse from the tin;Plum tile;Mads;1480;10;As wanted;\r\n"
    "{4};{kiln};Fuse from the tin;Reed tile;Mads;14800;10;As wanted;\r\n"
    "{4};{kiln};Something of hers;Reed tile;Mads;1480;10;7/10;\r\n"
)


def past_make(keeper: Person, kiln: Kiln, family: GlassFamily, today: date) -> None:
    schedule_card_keep(
        owner=keeper,
        photograph=prepare_picture(_card()),
        name=NAME,
        process="full_fuse",
        family=family,
        thinnest_mm=6.0,
        thickest_mm=6.0,
        segments=SEGMENTS,
        unit="F",
        reason="As it stands on an old card.",
    )
    days = [today - timedelta(days=420 - 9 * at) for at in range(5)]
    told = [f"{day:%d.%m.%Y}" for day in days]
    done = _previewed(keeper, "the tin.csv", SHEET + BEFORE.format(*told, kiln=kiln.name))
    list_run(taken=list_begin(taken=done))
    _previewed(keeper, "the tin, all of it.csv", SHEET + MESSY.format(*told, kiln=kiln.name))


def _card() -> io.BytesIO:
    """Lines in pencil on yellowed card, as nobody's hand wrote them."""
    card = Image.new("RGB", (900, 560), "#efe3c2")
    draw = ImageDraw.Draw(card)
    for line in range(90, 560, 64):
        draw.line((40, line, 860, line), "#c9b98d", 2)
    lines = ("full fuse, 2 layers", "300 / h - 1000", "540 / h - 1480, 10 min", "900, 1 hour",
             "150 / h - 700, then off")  # fmt: skip
    for at, words in enumerate(lines):
        draw.text((60, 50 + 64 * at), words, "#3b3a36", font_size=34)
    file = io.BytesIO()
    card.save(file, "PNG")
    file.seek(0)
    return file


def _previewed(keeper: Person, name: str, text: str) -> ListImport:
    raw = text.encode()
    taken = list_take_in(kind="firings", by=keeper, name=name, raw=raw, table=read_table(raw))
    return list_preview(
        taken=taken, places=taken.places, decimal=taken.decimal, day_first=taken.day_first
    )
