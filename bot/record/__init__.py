"""The journal: inbox, entries, outbox and timers of a company, in a single file.

`Store.receive` takes a message in, `Store.commit` writes a turn; `Reader` answers questions,
even while the bot is running. The form of the entries is in `bot.record.entry`, their bytes in
`bot.record.canonical`, their chain in `bot.record.chain`.
"""
