"""Checks against something outside the project, by their marker: `python -m tests.sources` counts them and lists sources."""
