"""The sections, one file each: items as literals, in the order they are asked."""
