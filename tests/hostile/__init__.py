"""Attacks on the program, counted: `python -m tests.hostile` (see `__main__` for its options).

`protocol` says what an attack is, `attacks/` holds one module a kind, `worker` answers one case at a time in a process
of its own under limits, `running` spends the time and keeps the counts, `tally` prints them, `cases/` holds every input
that once failed. Only `program` knows the package that is attacked.
"""
