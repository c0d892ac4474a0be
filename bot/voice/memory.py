"""How much memory this process has used."""

import resource


def peak_mib() -> int:
    """Return the most memory this process has used so far [MiB], as Linux counts it."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
