"""How a cut stands out from its wood, and one rule of light lines for bits and beams."""

from __future__ import annotations

import math
from functools import cache

import pytest

from engrave.cutting import criteria
from engrave.cutting.effect import contrast_of, luminance
from engrave.cutting.effect.contrast import FLARE, light_left
from engrave.making import Env, Piece, environment
from engrave.verbs import try_words


@cache
def env() -> Env:
    return environment()


def tried(cutter: str, wood: str, line_weight: str = "plain", name: str = "Zoë", lid: str = "puzzle-box") -> Piece:
    asked = {"lid": lid, "typeface": "withy", "cutter": cutter, "wood": wood, "line_weight": line_weight}
    return try_words(name, env=env(), **asked).entries[0].piece  # type: ignore[arg-type]


def light(piece: Piece) -> list[str]:
    return [p.level for p in piece.problems if p.code == "groove-light"]


@pytest.mark.source("WCAG 2.2, relative luminance and contrast ratio: black on white is 21 to 1")
def test_luminance_and_contrast_of_known_colours() -> None:
    assert (luminance("#000000"), luminance("#ffffff")) == pytest.approx((0.0, 1.0))
    assert (luminance("#ffffff") + FLARE) / (luminance("#000000") + FLARE) == pytest.approx(21.0)
    assert luminance("#ff0000") == pytest.approx(0.2126)
    assert (1.0 + FLARE) / (luminance("#767676") + FLARE) == pytest.approx(4.54, abs=0.01)  # from memory


@pytest.mark.source(
    "Hottel's crossed strings, as in textbooks of radiant heat: a V-groove sees its opening by sin(half angle)"
)
def test_light_that_comes_back_out_of_a_groove() -> None:
    for angle in (30.0, 60.0, 90.0):
        half = math.radians(angle / 2)
        assert light_left(2.0 * math.tan(half), 1.0, True, 0.0) == pytest.approx(math.sin(half))
    assert light_left(1.0, 1.0, False, 0.0) == pytest.approx(1 / 3)  # a square channel
    assert light_left(1.0, 0.0, False, 0.4) == 1.0
    assert light_left(1.0, 1.0, False, 0.5) > light_left(1.0, 1.0, False, 0.0)  # pale wood lights its own grooves


def test_a_burn_stands_out_by_the_woods_colours() -> None:
    beam = tried("diode-450", "walnut").task
    assert beam is not None
    woods = env().shop.woods
    told = {wood: contrast_of(beam.tool, woods[wood], 0.2) for wood in ("maple", "cherry", "walnut")}
    assert told["maple"] > told["cherry"] > criteria.LEAST_CONTRAST > told["walnut"] > 1.8


def test_fine_lines_are_looked_at_where_they_hardly_show_with_bits_and_beams_alike() -> None:
    assert light(tried("diode-450", "walnut")) == ["look"]
    assert light(tried("diode-450", "maple")) == ["note"]
    assert light(tried("v60", "walnut")) == ["look"]
    assert light(tried("v60", "maple")) == ["look"]  # a groove is only a shadow, and a shallow one is no dark one


def test_the_look_says_by_how_much_they_stand_out_and_what_to_do() -> None:
    (problem,) = [p for p in tried("diode-450", "walnut").problems if p.code == "groove-light"]
    assert "2.5 to 1" in problem.says and "3 to 1" in problem.says and "line_weight" in problem.says


def test_a_line_with_its_weight_is_not_fine_and_one_below_it_is() -> None:
    assert light(tried("diode-450", "walnut", "1/14")) == []
    assert light(tried("diode-450", "walnut", "auto")) == []
    assert light(tried("diode-450", "walnut", "4 %")) == ["look"]


def test_light_lines_are_helped_by_a_weight() -> None:
    tried_plain = try_words(
        "Zoë", lid="puzzle-box", typeface="withy", cutter="diode-450", wood="walnut", line_weight="plain", env=env()
    )
    helps = [r for r in tried_plain.entries[0].remedies if dict(r.change) == {"line_weight": "auto"}]
    assert helps and not light(helps[0].piece)


def test_a_beams_lines_are_legible_where_nothing_is_said() -> None:
    for wood in env().shop.woods:
        piece = tried("diode-450", wood, "")
        assert light(piece) == [], wood
        assert piece.lettering is not None
        assert all(line.weight >= line.cap_mm * criteria.GROOVE_LIGHT * 0.999 for line in piece.lettering.lines)
