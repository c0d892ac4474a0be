"""The ends of a vehicle: which one faces away, and which one a second truck lifts."""

OTHER_END = {"nose": "tail", "tail": "nose"}


def lifted_end(facing: str | None, lift_end: str | None) -> str | None:
    """Return the end that a second truck lifts, None while it is not known or out of reach.

    Parameters
    ----------
    facing
        How it faces the first truck: the end there is lifted, "nose" or "tail"; or "boxed".
    lift_end
        Boxed in, the end that the second truck reaches: "nose", "tail" or "neither".

    Examples
    --------
    >>> lifted_end("nose", None), lifted_end("boxed", "tail"), lifted_end("boxed", "neither")
    ('nose', 'tail', None)
    """
    end = lift_end if facing == "boxed" else facing
    return end if end in OTHER_END else None
