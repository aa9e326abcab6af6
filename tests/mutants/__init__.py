"""Hand-made mutants: one line of the program made wrong at a time, to see that a test notices (`python -m tests.mutants`).

`reading` loads them from the tables beside it, one table a stage; `trying` applies one in a copy of the project and runs
the tests that must notice.
"""
