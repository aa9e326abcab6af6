"""An order's piece made definite: which lid and area, which typeface, and the tool that will cut it."""

from engrave.tasks.define import define_all
from engrave.tasks.named import check_typefaces
from engrave.tasks.task_models import Plain, Refused, Task, Tool, Weighting
from engrave.tasks.tooling import deepest, method_for

__all__ = ["Plain", "Refused", "Task", "Tool", "Weighting", "check_typefaces", "deepest", "define_all", "method_for"]
