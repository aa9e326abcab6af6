"""A shop's own drawing with the words: where it stands, that it is cut, timed, in the code, and never over the words."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from engrave.fingerprint import surroundings, unit_key
from engrave.geometry.regions import centre_lines, region
from engrave.intake.order import Order, Words
from engrave.making import Env, Piece, environment, make_any, tasks_of
from engrave.output.svg import check_svg, lid_svg
from engrave.output.svg.proof_codes import proof_code
from engrave.setting import frame_of, is_inside
from engrave.tasks import Task
from engrave.verbs import try_words, write_proof
from tests.promises import promised

BOAT = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 110"><path d="M10 80 H110 L92 104 H28 Z"/>'
    '<path d="M56 8 V72 H14 Z"/><path d="M62 20 V72 H100 Z"/><circle cx="60" cy="91" r="5" fill="white"/></svg>'
)
WAVES = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 60" fill="none" stroke="black">'
    '<path d="M0 20 q 15 -20 30 0 t 30 0 t 30 0 t 30 0"/><path d="M0 40 q 15 -20 30 0 t 30 0 t 30 0 t 30 0"/></svg>'
)
RING = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path fill-rule="evenodd" d="M50 0 A50 50 0 1 1 50 100 '
    'A50 50 0 1 1 50 0 Z M50 6 A44 44 0 1 1 50 94 A44 44 0 1 1 50 6 Z"/></svg>'
)
TABLES = (
    '[behind]\nlike = "stack"\ntitle = "Words in a drawing"\nartwork = "behind"\n'
    '[beside]\nlike = "stack"\ntitle = "Words beside a drawing"\nartwork = "beside"\nartwork_size = 0.4\n'
)
LIDS = (
    '[two-places]\ntitle = "Box with a place for a drawing"\nlike = "seed-box"\nfields = ["name", "message", "foot"]\n'
    '[two-places.areas.front]\noutline = { rectangle = [180, 60] }\nedge = 1\nfields = ["artwork"]\n'
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("shop")
    (home / "artwork").mkdir()
    for name, text in (("boat", BOAT), ("waves", WAVES), ("ring", RING)):
        (home / "artwork" / f"{name}.svg").write_text(text, encoding="utf-8")
    (home / "settings.toml").write_text(TABLES, encoding="utf-8")
    (home / "lids.toml").write_text(LIDS, encoding="utf-8")
    return home


@pytest.fixture(scope="module")
def env(folder: Path) -> Env:
    return environment(folder)


def pieces(env: Env, words: Words, **columns: str) -> list[Piece]:
    order = Order("O-1", 1, 2, words, words, **columns)
    return [make_any(what, env) for what in tasks_of([order], env)]


def parts(piece: Piece) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Letters and drawing on the lid."""
    assert piece.lettering is not None
    made = centre_lines if piece.lettering.kind == "single-line" else region
    return tuple(
        shapely.union_all([made(m.path()) for m in piece.lettering.marks if m.is_ornament == o]) for o in (False, True)
    )  # type: ignore[return-value]


@promised("It is fitted into the lid's room, checked for the cutter, timed, and part of the proof's code.")
@pytest.mark.parametrize("typeface", ["vollkorn", "withy"])
@pytest.mark.parametrize(("art", "setting"), [("boat", "stack"), ("waves", "beside"), ("ring", "behind")])
def test_drawn_inside_beside_the_words(art: str, setting: str, typeface: str, env: Env) -> None:
    columns = {"lid": "seed-box", "setting": setting, "typeface": typeface}
    (piece,) = pieces(env, Words("Wanda", "sixty summers"), artwork=art, **columns)
    (plain,) = pieces(env, Words("Wanda", "sixty summers"), **columns)
    assert piece.is_made, [p.says for p in piece.problems]
    task, laid = piece.task, piece.lettering
    assert task is not None and laid is not None
    assert is_inside(laid, frame_of(task.area, task.tool.machine, task.tool.cutter, laid.groove))
    letters, drawing = parts(piece)
    assert letters.distance(drawing) > 1.0
    assert [line.text for line in laid.lines if line.field == "name"] == ["Wanda"]
    if setting == "stack":
        assert drawing.bounds[3] < letters.bounds[1]
    if setting == "beside":
        assert drawing.bounds[2] < letters.bounds[0]
    if setting == "behind":
        assert shapely.box(*drawing.bounds).contains(letters)
    assert piece.estimate is not None and plain.estimate is not None
    assert proof_code(piece) != proof_code(plain)
    assert check_svg(lid_svg(piece, env.shop)) == ()


def test_white_leaves_wood_and_lines_get_a_body(env: Env) -> None:
    (boat,) = pieces(env, Words("Wanda"), lid="seed-box", typeface="vollkorn", artwork="boat")
    drawing = parts(boat)[1]
    hull = max(drawing.geoms, key=lambda g: g.bounds[3])
    assert len(hull.interiors) == 1
    (waves,) = pieces(env, Words("Wanda"), lid="seed-box", typeface="vollkorn", artwork="waves")
    assert len(parts(waves)[1].geoms) == 2
    (outline,) = pieces(env, Words("Wanda"), lid="seed-box", typeface="withy", artwork="boat", line_weight="0")
    assert "artwork-as-outlines" in [p.code for p in outline.problems]


def test_an_area_of_its_own(env: Env) -> None:
    lid, front = pieces(env, Words("Wanda"), lid="two-places", typeface="vollkorn", artwork="boat")
    assert lid.lettering is not None and front.lettering is not None
    assert not any(m.is_ornament for m in lid.lettering.marks)
    assert all(m.is_ornament for m in front.lettering.marks)
    assert front.is_made
    assert front.task is not None
    assert front.task.area.name == "front"


def test_a_drawing_alone(env: Env, tmp_path: Path) -> None:
    """It is no order without words, and can be proved."""
    tried = try_words("", lid="seed-box", typeface="vollkorn", artwork="boat", env=env)
    assert [e.piece.is_made for e in tried.entries] == [True], [p.says for e in tried.entries for p in e.piece.problems]
    assert write_proof(tried, tmp_path / "proof.png", env)[0].stat().st_size > 10_000


@pytest.mark.parametrize("name", ["", "Wanda"])
def test_a_drawing_alone_is_not_made_heavier_by_a_beams_recipe(name: str, env: Env) -> None:
    """Lines have a weight by their words: a drawing without any was burnt in steps that led outwards, without end."""
    columns = {"lid": "two-places", "typeface": "withy", "cutter": "diode-450", "wood": "walnut", "artwork": "boat"}
    words = Words(name)
    found = tasks_of([Order("O-1", 1, 2, words, words, **columns)], env)
    (front,) = [t for t in found if isinstance(t, Task) and not t.words.filled()]
    assert front.tool.recipe.line_weight == "auto"
    assert front.weighting is None
    piece = make_any(front, env)
    assert piece.is_made and piece.task is not None and piece.task.tool.method == "follow"


def test_one_that_cannot_be_used_holds_the_order_and_says_why(env: Env) -> None:
    for name, says in (("bota", "Did you mean 'boat.svg'?"), ("../boat", "no bare file name")):
        (piece,) = pieces(env, Words("Wanda"), lid="seed-box", artwork=name)
        held = [p for p in piece.problems if p.level == "hold"]
        assert [p.code for p in held] == ["unknown-artwork"]
        assert says in held[0].says


def test_a_drawing_that_cannot_be_opened_is_not_offered_as_what_was_meant(folder: Path, env: Env) -> None:
    (folder / "artwork" / "map.svg").mkdir()
    try:
        (piece,) = pieces(env, Words("Wanda"), lid="seed-box", artwork="map")
    finally:
        (folder / "artwork" / "map.svg").rmdir()
    (says,) = [p.says for p in piece.problems if p.level == "hold"]
    assert says == "The drawing 'map.svg' is a folder, not a file. Put it into the folder 'artwork' anew."


def test_only_what_is_cut_with_it_is_made_anew(folder: Path, env: Env) -> None:
    def keys() -> list[str]:
        found = [
            tasks_of([Order("O", 1, 2, Words("A"), Words("A"), lid="seed-box", artwork=a)], env) for a in ("", "waves")
        ]
        assert all(isinstance(what, Task) for whats in found for what in whats)
        return [unit_key(surroundings(folder), whats, []) for whats in found]

    before = keys()
    file = folder / "artwork" / "waves.svg"
    try:
        file.write_text(WAVES.replace("-20", "-25"), encoding="utf-8")
        after = keys()
    finally:
        file.write_text(WAVES, encoding="utf-8")
    assert before[0] == after[0]
    assert before[1] != after[1]
