"""What is cut and in which order: strokes as the file holds them, and the moves of the head through them."""

from engrave.toolpath.methods import course_of_file, toolpath_of
from engrave.toolpath.moves import Course, Toolpath

__all__ = ["Course", "Toolpath", "course_of_file", "toolpath_of"]
