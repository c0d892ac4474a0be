"""Pictures of the figures, as SVG."""
