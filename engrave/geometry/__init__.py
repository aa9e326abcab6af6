"""Curves, flattening with a stated accuracy, regions, the medial graph and axis. Knows nothing of letters or lids."""
