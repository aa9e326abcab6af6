"""Every sentence that the program can say, to be read through as a whole: `python -m tests.sentences`."""
