"""A V-cut's seconds against a plan by other means, and the pairing of odd places against the exact one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import networkx as nx
import numpy as np
import pytest
from scipy.spatial.distance import cdist

from engrave.motion.machine_limits import limits_of
from engrave.setting.lettering import Lettering, Mark
from engrave.shop.cutters import VBit
from engrave.tasks import Tool
from engrave.timing import estimate_time
from engrave.timing.estimate import seconds_by_part, with_losses
from engrave.toolpath import toolpath_of
from engrave.toolpath.linking import paired
from engrave.typefaces import Shelf, load_shelf
from toolpath.independent_vee import course_of
from toolpath.workbench import bit_tool

FACES = (
    "blankenburg", "dancing-script", "gfs-didot", "great-vibes", "linux-libertine", "noto-sans", "noto-sans-bold", "quicksand", "roboto-slab",
    "saira-stencil", "vollkorn",
)  # fmt: skip
FEW = {("roboto-slab", "Wilhelmina"), ("noto-sans", "Hamburg")}
CAP = 9.0
"""mm: strokes of all these faces are cut to their full width by one run down the middle; floors are another test's."""


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return load_shelf()


V60 = VBit(id="v60", title="V-bit", machine="router", diameter=6.0, angle=60.0, tip=0.2, deepest=2.5)


def v60(**of: Any) -> Tool:
    return replace(bit_tool("vee", **{"depth": 2.5, "plunge": 5.0, "feed": 13.3, "pass_depth": 1.25} | of), cutter=V60)


def laid(shelf: Shelf, face: str, word: str, cap: float = CAP) -> Lettering:
    placed = [p for p in shelf.get(face).shape(word).placed if p.glyph.path]
    marks = [Mark(p.glyph, (cap * p.scale, 0.0, 0.0, -cap * p.scale, cap * p.x, -cap * p.y), p.text, 0) for p in placed]
    return Lettering("outline", "stack", tuple(marks), (), 0.0)


@pytest.mark.source("SciPy's Voronoi diagram (Qhull); Edmonds & Johnson 1973, by networkx: a postman's walk with lifts")
@pytest.mark.parametrize(
    ("face", "word"),
    [
        pytest.param(face, word, marks=[] if (face, word) in FEW else [pytest.mark.slow])
        for face in FACES
        for word in ("Hamburg", "Wilhelmina", "RUTH & FINN")
    ],
)
@pytest.mark.parametrize("by", ["stroke", "pass"])
def test_the_whole_estimate_is_that_of_an_independent_plan(shelf: Shelf, face: str, word: str, by: str) -> None:
    """Within a tenth, serifs and scripts alike: spurs are run into and back, and the bit is lifted where that is quicker."""
    tool, words = v60(by=by), laid(shelf, face, word)
    ours = estimate_time(toolpath_of(words, tool), tool).seconds
    course = course_of(words, tool)
    theirs = sum(s for _, s in with_losses(course, seconds_by_part([course], limits_of(tool.machine))[0], tool.machine))
    assert ours == pytest.approx(theirs, rel=0.1)


@pytest.mark.source("networkx, min_weight_matching (Galil 1986)")
def test_places_are_paired_nearly_as_well_as_can_be() -> None:
    """On 60 sets of 4 to 42 places: at most 4 % dearer than the exact pairing together, with two places left over."""
    random = np.random.default_rng(8)
    ours = exact = 0.0
    for n in range(4, 44, 2):
        for _ in range(3):
            places = random.uniform(0.0, 60.0, (n, 2))
            cost = np.minimum(cdist(places, places), 25.0)
            pairs = paired(cost)
            assert len({p for pair in pairs for p in pair}) == 2 * len(pairs) == n - 2
            graph = nx.Graph()
            graph.add_weighted_edges_from((i, j, cost[i, j]) for i in range(n) for j in range(i))
            graph.add_weighted_edges_from((i, end, 0.0) for i in range(n) for end in (n, n + 1))
            best = sum(graph.edges[pair]["weight"] for pair in nx.min_weight_matching(graph))
            got = sum(cost[i, j] for i, j in pairs)
            assert best - 1e-9 <= got
            ours, exact = ours + got, exact + best
    assert ours <= 1.04 * exact


@pytest.mark.parametrize("face", ["noto-sans-bold", "saira-stencil"])
def test_a_wide_letter_s_floor_is_cleared_in_the_run_that_cuts_the_letter(shelf: Shelf, face: str) -> None:
    """One plunge a letter at the size where each stroke has a floor; each round was one of its own."""
    tool = v60(pass_depth=2.5)
    words = laid(shelf, face, "IL", 14.0)
    parts = {"noto-sans-bold": 2, "saira-stencil": 3}[face]
    assert toolpath_of(words, tool).course.starts == parts
