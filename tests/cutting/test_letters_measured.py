"""The measures that come with the program: what the code would measure now, passed over where they are not."""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import pytest
from letters_measured import taken_of, usual_letters

from engrave.cutting import KeptMeasures
from engrave.cutting.measure import kept
from engrave.cutting.measure.components import Component, glyph_shape
from engrave.cutting.measure.glyphs import GlyphMeasure
from engrave.cutting.measure.kept import LETTERS_MEASURED, measures_version, pack, packed_measures
from engrave.cutting.measure.narrow_places import measure_of
from engrave.geometry.affine import IDENTITY
from engrave.typefaces import load_shelf
from engrave.typefaces.run import Glyph

SHELF = load_shelf()
FILES = sorted(LETTERS_MEASURED.glob("*.json.gz"))
FACES = sorted(file.name.removesuffix(".json.gz") for file in FILES)
SAMPLE = "Sg&é8Ωж"
MOST_BYTES = 2_000_000
SAME = 1e-9
"""Cap heights by which a figure may differ on another computer: its processor may round the last digit otherwise."""


def _all_in(face: str) -> tuple[str, dict[str, Any]]:
    kept = json.loads(gzip.decompress((LETTERS_MEASURED / f"{face}.json.gz").read_bytes()))
    return kept["version"], {key: json.loads(text) for key, (_, text) in kept["measures"].items()}


def _same(found: Any, told: Any) -> bool:
    if isinstance(found, list) and isinstance(told, list):
        return len(found) == len(told) and all(_same(a, b) for a, b in zip(found, told, strict=True))
    if isinstance(found, float | int) and isinstance(told, float | int):
        return abs(found - told) <= SAME
    return found is None and told is None


def _compare(face: str, letters: str) -> set[str]:
    """Measure letters anew and return their keys; those that come with the program say the same."""
    version, told = _all_in(face)
    if version != measures_version():
        pytest.skip("measured with other libraries: passed over here")
    found = taken_of(SHELF.get(face), letters)
    assert [key for key in found if not _same(json.loads(kept._to_text(found[key])), told[key])] == []
    return set(found)


def test_every_typeface_with_letters_that_stand_alone_has_them_measured_and_all_are_small() -> None:
    assert sorted(face for face in SHELF.ids if usual_letters(SHELF.get(face))) == FACES
    assert len(FACES) >= 20
    assert sum(file.stat().st_size for file in FILES) < MOST_BYTES


@pytest.mark.parametrize("face", FACES)
def test_they_are_of_the_modules_that_measure_now(face: str) -> None:
    """If not: `python tests/tools/letters_measured.py`."""
    assert _all_in(face)[0].split()[0] == measures_version().split()[0]


@pytest.mark.parametrize("face", FACES)
def test_a_few_letters_of_each_measure_the_same_now(face: str) -> None:
    usual = usual_letters(SHELF.get(face))
    assert _compare(face, "".join(c for c in SAMPLE if c in usual) or usual[:3])


@pytest.mark.slow
@pytest.mark.parametrize("face", FACES)
def test_all_letters_measure_the_same_now(face: str) -> None:
    assert _compare(face, usual_letters(SHELF.get(face))) == set(_all_in(face)[1])


def _letter(face: str, letter: str) -> Component:
    (placed,) = SHELF.get(face).shape(letter).placed
    glyph: Glyph = placed.glyph
    shape = glyph_shape(glyph, as_lines=False)
    return Component(glyph.key, shape, IDENTITY, shape, (0,))


def _is_measured(monkeypatch: pytest.MonkeyPatch, folder: Path | None = None) -> bool:
    """Tell whether a letter is measured though nothing is kept. folder: where the measures come from, not the program's."""
    found: list[object] = []

    def take(body: Component, as_lines: bool) -> GlyphMeasure:
        found.append(body)
        return GlyphMeasure()

    monkeypatch.setenv("ENGRAVE_CACHE", "off")
    monkeypatch.setattr("engrave.cutting.measure.narrow_places._take", take)
    if folder is not None:
        monkeypatch.setattr(kept, "LETTERS_MEASURED", folder)
    measure_of(_letter("vollkorn", "g"), False, KeptMeasures())
    return bool(found)


def test_a_usual_letter_is_not_measured_where_nothing_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    if _all_in("vollkorn")[0] != measures_version():
        pytest.skip("measured with other libraries: passed over here")
    assert not _is_measured(monkeypatch)


def test_what_comes_with_the_program_is_passed_over_where_it_is_not_of_these_modules_and_libraries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    measures = taken_of(SHELF.get("vollkorn"), "g")
    file = tmp_path / "vollkorn.json.gz"
    file.write_bytes(pack(measures))
    assert not _is_measured(monkeypatch, tmp_path)
    with monkeypatch.context() as patched:
        patched.setattr(kept, "source_of", lambda module: b"changed")
        assert _is_measured(monkeypatch, tmp_path)
    with monkeypatch.context() as patched:
        patched.setattr(kept, "_said_by_scipy", lambda: b"another")
        assert _is_measured(monkeypatch, tmp_path)


@pytest.mark.parametrize("broken", ["empty", "cut", "plain", "altered", "gone"])
def test_what_comes_broken_is_measured(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str) -> None:
    file, whole = tmp_path / "vollkorn.json.gz", pack(taken_of(SHELF.get("vollkorn"), "g"))
    text = gzip.decompress(whole)
    data = {"empty": b"", "cut": whole[:-20], "plain": text, "altered": gzip.compress(text.replace(b"0.1", b"0.2"))}
    if broken in data:
        file.write_bytes(data[broken])
        assert packed_measures(file, measures_version()) == {}
    assert _is_measured(monkeypatch, tmp_path)
    (tmp_path / "vollkorn.json.gz").write_bytes(whole)
    assert not _is_measured(monkeypatch, tmp_path)
