"""Withy, the typeface of our own: its stroke language, its letters, its kerning, its file and its specimen."""
