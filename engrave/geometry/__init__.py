"""Curves, flattening with a stated accuracy, regions and the raw medial graph. Knows nothing of letters or lids."""
