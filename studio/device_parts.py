"""What of this app stands on a studio device; read by `studio.at_device`."""

from studio.at_device import at_device

at_device(
    shown=(
        "studio:device_here",
        "studio:family_list",
        "studio:glass_detail",
        "studio:glass_list",
        "studio:glass_take",
        "studio:help_cautions",
        "studio:help_index",
        "studio:help_rights",
        "studio:help_words",
        "studio:kiln_detail",
        "studio:kiln_list",
        "studio:lot_code",
        "studio:lot_count",
        "studio:lot_cut",
        "studio:lot_detail",
        "studio:lot_labels",
        "studio:lot_return",
        "studio:lot_take",
        "studio:service_diary",
        "studio:service_entry_add",
        "studio:shelf_list",
        "studio:shelf_low",
        "studio:signed_in_now",
        "studio:worker",
    ),
    sent_to=(
        "studio:device_here",
        "studio:glass_take",
        "studio:lot_count",
        "studio:lot_cut",
        "studio:lot_return",
        "studio:lot_take",
        "studio:movement_take_back",
        "studio:service_entry_add",
    ),
)
