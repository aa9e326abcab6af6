"""What the cutting check says: which letter is meant, what is wrong there, and what would help."""

from engrave.cutting.messages.place_names import PlaceNames

__all__ = ["PlaceNames"]
