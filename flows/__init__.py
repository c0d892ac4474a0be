"""The functional core: items, facts, acts, rules, sections and the turn. Pure."""
