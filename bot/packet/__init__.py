"""The claim packet: checkpoints over the record, and the folder that a stranger can check.

`merkle` and `keys` are the arithmetic, `checkpoints` binds the record while it is written,
`build` makes a packet out of it later, `checking` reads one back. `verify.py` goes into every
packet as it stands, so it imports nothing of ours.
"""
