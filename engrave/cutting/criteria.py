"""Every number on which the cutting check rests, once, with its reason. Lengths in cap heights H unless said.

Where the reason is 'a choice', the figure was chosen so that on letters of six typefaces the measured thinnest stroke
and the direct test by opening tell one story: at 0.9 of the thinnest stroke the opening passes for nearly all, at
1.1 of it for nearly none.
"""

from __future__ import annotations

import math

SAMPLE_STEP = 0.008
"""Distance of samples along an outline: a fifth of the finest hairline in use (Great Vibes, 0.015 H); halving it
moves no stroke by more than 1.5 %."""

GLYPH_CHORD = 0.0001
"""Chords of a glyph's curves stand this far off at most. Curves that touch by design must still touch: at 0.0004 a
capital of Great Vibes came apart by a hair, and crotches near the web's angle tipped over. Samples lie closer anyway."""

STROKE_TILT = math.radians(25.0)
"""A point belongs to a stroke when its two nearest feet lie within this of opposite (the same as a taper of less than
12.5 degrees a side); more is a corner or the tip of a wedge, which rounds and does not break. A choice."""

WEB_TILT = math.radians(12.0)
"""The same for the wood between: stricter, since the sharp crotches of M, N and W fill by tenths and do no harm. The
result has no plateau in this angle: it is a convention, and is held by ground truth."""

LEAST_RUN = 0.05
"""A narrow place counts when it is at least this long: shorter is a nick where two curves meet. A choice."""

FEATHERED_RUN = 0.15
"""And this long where it feathers out to under half its width, so that a pointed flourish is not judged by its tip."""

SPECK_LENGTH = 0.05
"""Parts and holes smaller than this, long way included, are specks of the drawing: reported, and decide nothing."""

SPECK_AREA = 2e-4
"""The same for area, in H squared (a dot 0.016 H across)."""

CROTCH_WIDTHS = (0.015, 0.03, 0.05, 0.08, 0.12, 0.17)
"""Widths at which the length of sharp crotches is kept: from 0.2 mm on a letter of 13 mm to 1.4 mm on one of 8 mm. In
between it grows evenly, as in a wedge."""

CROTCH_WIDEST = math.radians(80.0)
"""Angle to which two strokes that meet leave a crotch. Beyond are the right angles of E, H and L, where 0.4 mm of wood
fill for 0.2 mm at most."""

CROTCH_TIP = 0.35
"""Share of the width to which a crotch must narrow at its tip: else it has a floor, as drawn, and is no wedge."""

CROTCH_ON = 1.25
"""By how much a crotch may be led on past its last measured point: about a sample's distance."""

CROTCH_TOLD = 0.1
"""A crotch that fills for less than this is not worth a word: twice what a letter may lose at a corner. A choice."""

RETRACED_DISTANCE = 0.08
"""Single lines closer than this are meant as one: doubled and retraced strokes of a single-line typeface."""

CLOSED_BY = (0.0002, *(0.02 * k for k in range(1, 13)))
"""Widths of line at which loops are sought: what a groove closes is closed, though its ends miss each other as drawn.
From a rounding of the drawing to lines of a quarter of the capitals' height; in between the width is halved down."""

CLOSING_HALVINGS = 5
"""Times that the width which closes a loop is halved down: to a sixteenth of a hundredth, 6 micrometres on 10 mm."""

LINE_ARC_CHORDS = 4
"""Chords a quarter circle at the ends of lines drawn with a width: only whether they meet is asked, 2 % off at most."""

DOT_SIDE = 0.13
"""A ring that stands alone and is no longer and no wider than this is a dot: drawn so that a groove fills it. Dots of
single-line typefaces are 0.05 to 0.11; the ring of a degree sign or of the letter with a ring is 0.2 or more."""

LOSS_FLOOR = 0.05
"""A letter may lose corners as far as the cutter's diameter, or this if more: below it the eye does not miss them."""

EQUAL_STROKE = 0.004
"""Share by which a stroke may be narrower than the cutter and still count as equal: chords, and no more."""

ALONG_GRAIN = math.radians(30.0)
"""A web runs along the grain when its long axis lies within this of the fibres; beyond it is short grain and weak
(common practice, no source)."""

SHALLOW_BEAM = 0.6
"""Share of the wood's least web that a beam needs whose mark is `SHALLOW_DEPTH` deep: it pushes nothing. One half as
deep leaves a wall half as high, and needs half of that (common practice, no source; the test piece decides)."""

SHALLOW_DEPTH = 0.5
"""mm: a beam's mark no deeper than this counts as shallow; a deeper one heats and weakens the wood as a bit does."""

SHOWN_WEB = {"none": 0.15, "diffuse": 0.15, "semi-ring": 0.2, "ring": 0.25}
"""mm of wood between two marks of a beam that is not charred over and still shows, by the wood's pores: one minute of
arc, which the eye resolves (ISO 8596), is 0.15 mm at half a metre; large pores carry the char further (common practice,
no source)."""

WEB_OF_DEPTH = 0.5
"""A web never under this share of the depth: a higher wall breaks at the first knock (common practice, no source)."""

WIDENED_AT_BREAK = 2.0
"""A wall that widens downwards evenly, as between two V-cuts, breaks where it is twice as thick as at its top: there
bending stress z / (w + m z)^2 is greatest, at z = w / m (tapered cantilever; Gere, Mechanics of Materials)."""

GROOVE_LIGHT, GROOVE_HEAVY = 1.0 / 14.0, 1.0 / 6.0
"""Groove over cap height: ISO 3098-1 type A lettering is h/14; DOD-HDBK-791 has h/6 for dark on light. Lighter does
not read, heavier clogs."""

LEAST_CONTRAST = 3.0
"""Contrast of mark and wood from which fine lines are seen without being looked for: 3 : 1, as for what is drawn in a page
(WCAG 2.2, 1.4.11)."""

TOUCHING_DISTANCE = 1e-4
"""Letters nearer than this touch by the typeface's design and are one shape."""

PLACES_KEPT = 24
"""Narrow places kept of each kind a glyph, narrowest first: more than any letter has below a limit that matters."""
