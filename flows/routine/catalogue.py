"""Every condition by its name: for the pages, and for whoever explores what tells states apart."""

from collections.abc import Mapping

from flows.routine.condition import Condition
from flows.routine.conditions import electrics, general, holding, lifting, road, under, waking

_TABLES = (
    vars(general),
    vars(holding),
    vars(under),
    vars(lifting),
    vars(road),
    vars(electrics),
    electrics.NUMBERED,
    vars(waking),
    waking.NUMBERED,
)
CONDITIONS: Mapping[str, Condition] = {
    name: one for table in _TABLES for name, one in table.items() if isinstance(one, Condition)
}
"""Every condition by the name of its function, those that there are several of with a number."""
