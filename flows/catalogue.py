"""Every condition by its name: for the pages, and for whoever explores what tells states apart."""

from collections.abc import Mapping

from flows import electrics, predicates, underway, waking
from flows.conditions import Condition
from flows.predicates import lifting, turning

_TABLES = (
    vars(predicates),
    vars(turning),
    vars(lifting),
    vars(underway),
    vars(electrics),
    electrics.NUMBERED,
    vars(waking),
    waking.NUMBERED,
)
CONDITIONS: Mapping[str, Condition] = {
    name: one for table in _TABLES for name, one in table.items() if isinstance(one, Condition)
}
"""Every condition by the name of its function, those that there are several of with a number."""
