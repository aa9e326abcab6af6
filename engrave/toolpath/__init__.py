"""What is cut and in which order: strokes as the file holds them, and the moves of the head through them."""

from engrave.toolpath.methods import course_of_file, plan_piece
from engrave.toolpath.moves import Course

__all__ = ["Course", "course_of_file", "plan_piece"]
