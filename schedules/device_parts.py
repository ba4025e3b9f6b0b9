"""What of this app stands on a studio device; read by `studio.at_device`.

Schedules are read there. They are written at leisure: the editor and the draft ask the server at
every keystroke, and a device would ask each time who that is.
"""

from studio.at_device import at_device

at_device(
    shown=(
        "schedules:keying_card",
        "schedules:kiln_memory",
        "schedules:revision_curve_data",
        "schedules:revision_detail",
        "schedules:revision_difference",
        "schedules:schedule_card_file",
        "schedules:schedule_detail",
        "schedules:schedule_list",
    ),
    sent_to=("schedules:kiln_memory",),
)
