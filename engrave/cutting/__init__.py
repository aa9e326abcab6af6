"""Can this tool make this lettering in this wood, where not, and what will really be left."""

from engrave.cutting.fitness import Fitness, Spot
from engrave.cutting.judge.checking import check
from engrave.cutting.measure.kept import KeptMeasures

__all__ = ["Fitness", "KeptMeasures", "Spot", "check"]
