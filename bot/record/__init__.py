"""The journal: inbox, entries, outbox and timers of one company, in one file.

Messages come in with `Store.receive`, a turn goes out with `Store.commit`; `Reader` answers
questions, also beside a running bot. The form of the entries is in `bot.record.entry`, their
bytes in `bot.record.canonical`, their chain in `bot.record.chain`.
"""
