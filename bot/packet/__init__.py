"""The claim packet: a zip of everything a claim needs, which a stranger can check.

`build` makes a packet from a job's record, `customer` makes the customer's copy, `checking`
reads a packet back. `verify.py` and `reading.py` are copied into every packet with
`bot/record/arithmetic.py`, so they import nothing else of ours.
"""
