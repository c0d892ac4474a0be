"""Ways on from a gate that more than one section offers."""

from flows.routine.items import Option

HAND_OFF = Option("hand_off", hands_off=True)
ANOTHER_TRUCK = (Option("another_truck", clears=("truck",)), HAND_OFF)
