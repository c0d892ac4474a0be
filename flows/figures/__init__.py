"""Figures: pure functions from quantities to results that name their limit and their source."""
