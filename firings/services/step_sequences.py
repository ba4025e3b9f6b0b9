"""Ready-made orders of work to begin a piece with (common practice, no source).

A step is the code of a process, or "cut" or "coldwork", which are done outside a kiln.
"""

SEQUENCES: dict[str, tuple[str, ...]] = {
    "fuse_slump": ("full_fuse", "slump"),
    "fuse_cut_slump_polish": ("full_fuse", "cut", "slump", "fire_polish"),
    "tack_slump": ("full_fuse", "tack_fuse", "slump"),
    "paste_coldwork": ("cast", "coldwork"),
}
"""By a name of our own. Pâte de verre is fired as a casting: frit or paste in a mould."""
