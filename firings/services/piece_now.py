"""What a piece of glass is now: its layers, thickness and size after what was done to it.

Glass is neither made nor lost in a kiln: sheets that were fused are one piece, as thick as its
volume and its measured size say. What was measured stands before what is reckoned.

Sources: that sheets of a full fuse become one piece of their whole thickness, that a tack or
contour fuse keeps the relief of what was laid up, that a slump keeps the thickness, and that glass
which may flow goes to about 6 to 7 mm, are common practice, no source.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

CUT, COLDWORK, STOPPED = "cut", "coldwork", "stopped"
LEVELS_OUT = ("full_fuse", "cast")
KEEPS_RELIEF = ("contour_fuse", "tack_fuse")

FLOWS_TO = (6.0, 7.0)
"""mm to which glass goes that is free to flow (common practice, no source): it is told, and never
reckoned with, as nobody knows how far it came."""

MORE_THAN_LAID = 1.15
"""Times the volume laid up, from which a measured one is remarked on (our own figure: thickness and
both sides are each read to some per cent)."""

THINNEST_KNOWN, THICKEST_KNOWN = 0.5, 100.0
"""mm within which a reckoned thickness is one that a record takes."""

ThicknessFrom = Literal["said", "measured", "by_volume", "unknown"]


@dataclass(frozen=True, kw_only=True)
class PieceNow:
    """A piece as it lies there; millimetres, None where not known.

    Attributes
    ----------
    thickest, thinnest : of all layers together.
    layers : sheets on each other that are not one piece; 1 is one piece.
    length, width : of its footprint.
    thickness_from : how the thickness is known: as it was written down, as it was measured after a
        firing, or reckoned by the glass's volume.
    one_piece_since : the `key` of the work that made it one piece, or None.
    remarks : codes: "would_spread", "would_draw_in" (fused in the open, and not measured after),
        "uneven_before" (laid up unevenly, and not measured after), "more_than_laid" (measured as
        more glass than was laid up), "larger_than_before" (cut to more than it was), "stretched"
        (thinner somewhere, nobody knows how much), "shrunk" (metal clay, not measured after).
    """

    thickest: float | None = None
    thinnest: float | None = None
    layers: int = 1
    length: float | None = None
    width: float | None = None
    thickness_from: ThicknessFrom = "said"
    one_piece_since: Hashable | None = None
    remarks: tuple[str, ...] = ()

    @property
    def area(self) -> float | None:
        """mm² of its footprint."""
        if self.length is None or self.width is None:
            return None
        return self.length * self.width


@dataclass(frozen=True, kw_only=True)
class Work:
    """Something that was done to a piece.

    Attributes
    ----------
    process : code of a process, as "slump"; or "cut", "coldwork"; "stopped" for a firing that was
        stopped early, which leaves the piece as it went in.
    key : what tells this work from others.
    laid : the piece as it was written down before; what isn't said there is as the work before left
        it. None where nothing was written down.
    length_after, width_after, thickness_after : mm, as measured afterwards.
    """

    process: str
    key: Hashable = None
    laid: PieceNow | None = None
    length_after: float | None = None
    width_after: float | None = None
    thickness_after: float | None = None

    @property
    def is_measured(self) -> bool:
        after = (self.length_after, self.width_after, self.thickness_after)
        return any(figure is not None for figure in after)


def piece_now(works: Iterable[Work]) -> PieceNow | None:
    """The piece after all of these, in the order in which they were done; None for none.

    Examples
    --------
    >>> laid = PieceNow(thickest=12.0, thinnest=12.0, layers=4, length=200.0, width=200.0)
    >>> fused = Work(process="full_fuse", key="3 Nov", laid=laid)
    >>> now = piece_now([fused, Work(process="cut", length_after=150.0, width_after=150.0)])
    >>> now.layers, now.thickest, now.length, now.one_piece_since
    (1, 12.0, 150.0, '3 Nov')
    """
    now: PieceNow | None = None
    for work in works:
        now = after(now or PieceNow(thickness_from="unknown"), work)
    return now


def after(before: PieceNow, work: Work) -> PieceNow:
    """The piece after one work. No volume is made: unless the thickness is measured, footprint ×
    thickness is at most what it was before.

    Examples
    --------
    A lay-up of 12 mm that spread from 200 × 200 to 250 × 240 mm is 8 mm thick:

    >>> laid = PieceNow(thickest=12.0, thinnest=12.0, layers=4, length=200.0, width=200.0)
    >>> after(laid, Work(process="full_fuse", length_after=250.0, width_after=240.0)).thickest
    8.0
    """
    laid = _as_laid(before, work.laid)
    sized = replace(
        laid, length=work.length_after or laid.length, width=work.width_after or laid.width
    )
    if work.process in LEVELS_OUT:
        return _fused(laid, sized, work)
    if work.process in KEEPS_RELIEF:
        return _fused(replace(laid, thinnest=_base(laid)), sized, work)
    if work.process == CUT:
        return _cut(laid, sized, work)
    if work.process == "metal_clay" and not work.is_measured:
        return PieceNow(thickness_from="unknown", remarks=("shrunk",))
    if work.process == "drop_out" and work.thickness_after is None:
        return replace(sized, thinnest=None, remarks=("stretched",))
    return _measured(sized, work)


def cut_fits(piece: PieceNow, length: float | None, width: float | None) -> bool:
    """Whether a piece of this size, mm, can be cut from it, turned as it fits; also where a size is
    not known.

    Examples
    --------
    >>> cut_fits(PieceNow(length=300.0, width=200.0), 180.0, 280.0)
    True
    >>> cut_fits(PieceNow(length=300.0, width=200.0), 210.0, 280.0)
    False
    """
    cut = sorted(side for side in (length, width) if side is not None)
    whole = sorted(side for side in (piece.length, piece.width) if side is not None)
    if len(whole) < 2 or not cut:
        return True
    return cut[-1] <= whole[-1] and (len(cut) < 2 or cut[0] <= whole[0])


def _as_laid(before: PieceNow, said: PieceNow | None) -> PieceNow:
    """What was written down when it went in, and else what the work before left."""
    if said is None:
        return replace(before, remarks=())
    thickest, thinnest, origin = said.thickest, said.thinnest, said.thickness_from
    if thickest is None:
        thickest, thinnest, origin = before.thickest, before.thinnest, before.thickness_from
    return PieceNow(
        thickest=thickest,
        thinnest=thinnest,
        layers=said.layers,
        length=before.length if said.length is None else said.length,
        width=before.width if said.width is None else said.width,
        thickness_from="unknown" if thickest is None else origin,
        one_piece_since=before.one_piece_since if said.layers == 1 else None,
    )


def _base(laid: PieceNow) -> float | None:
    """mm that lie beneath all of the relief: as said, or else the lowest sheet."""
    if laid.thinnest is not None or laid.thickest is None:
        return laid.thinnest
    return laid.thickest / laid.layers


def _fused(laid: PieceNow, sized: PieceNow, work: Work) -> PieceNow:
    """One piece, of the volume that was laid up: between the volumes that its thinnest and its
    thickest point allow, where they differ."""
    since = laid.one_piece_since if laid.layers == 1 else None
    one = replace(sized, layers=1, one_piece_since=since or work.key)
    if work.thickness_after is not None:
        thinnest = work.thickness_after
        if work.process in KEEPS_RELIEF and laid.thinnest is not None:
            thinnest = min(laid.thinnest, thinnest)
        too_much = laid.thickest is not None and (
            work.thickness_after > MORE_THAN_LAID * laid.thickest * _share(laid, sized)
        )
        return replace(
            one,
            thickest=work.thickness_after,
            thinnest=thinnest,
            thickness_from="measured",
            remarks=("more_than_laid",) if too_much else (),
        )
    if laid.thickest is None:
        return replace(one, thickness_from="unknown")
    share = _share(laid, sized)
    thickest = laid.thickest * share
    thinnest = thickest if laid.thinnest is None else laid.thinnest * share
    if not THINNEST_KNOWN <= thinnest <= thickest <= THICKEST_KNOWN:
        return replace(one, thickest=None, thinnest=None, thickness_from="unknown")
    return replace(
        one,
        thickest=thickest,
        thinnest=thinnest,
        thickness_from="by_volume",
        remarks=tuple(_unmeasured(thickest, thinnest, work)),
    )


def _unmeasured(thickest: float, thinnest: float, work: Work) -> Iterable[str]:
    """Of what lay in the open: a casting has the shape of its mould."""
    if work.process != "full_fuse":
        return
    if thinnest < thickest:
        yield "uneven_before"
    if not work.is_measured:
        if thickest > FLOWS_TO[1]:
            yield "would_spread"
        elif thickest < FLOWS_TO[0]:
            yield "would_draw_in"


def _share(laid: PieceNow, sized: PieceNow) -> float:
    """Times its thickness before, by its footprint before and after; 1 where one isn't known."""
    if laid.area is None or sized.area is None:
        return 1.0
    return laid.area / sized.area


def _cut(laid: PieceNow, sized: PieceNow, work: Work) -> PieceNow:
    fits = cut_fits(laid, work.length_after, work.width_after)
    cut = _measured(sized, work)
    return cut if fits else replace(cut, remarks=("larger_than_before",))


def _measured(sized: PieceNow, work: Work) -> PieceNow:
    """As thick as before, unless it was measured; a slump bends the footprint, not the glass."""
    thickness = work.thickness_after
    if thickness is None:
        return sized
    thinnest = thickness if sized.thinnest is None else min(sized.thinnest, thickness)
    return replace(sized, thickest=thickness, thinnest=thinnest, thickness_from="measured")
