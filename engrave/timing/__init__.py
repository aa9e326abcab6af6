"""The tool's moves, their order and the seconds, from the machine's accelerations."""
