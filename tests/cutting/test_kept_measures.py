"""KeptMeasures kept on disk: cold and warm alike, two writers, files that are broken or of another day."""

from __future__ import annotations

import ast
import importlib
import importlib.util
import inspect
import json
import multiprocessing
from pathlib import Path

import numpy as np
import pytest
from shapely import Point, box

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cutting import Fitness, KeptMeasures, check
from engrave.cutting.measure import kept
from engrave.cutting.measure.believable import is_believable
from engrave.cutting.measure.components import glyph_shape
from engrave.cutting.measure.crotch import Crotch
from engrave.cutting.measure.glyphs import GlyphMeasure, measure_lines, measure_region
from engrave.cutting.measure.kept import MEASURED_BY, MOST_KEPT, measures_version
from engrave.geometry.narrow_strips import Narrow
from engrave.typefaces import load_shelf

SHAPES = [("o", Point(3, 3).buffer(3).difference(Point(3, 3).buffer(1.7))), ("i", box(8, 0, 9.3, 10))]

BOX = (-10.0, -10.0, 10.0, 10.0)


def looked(folder: Path | None) -> Fitness:
    measures = KeptMeasures(folder)
    found = check(region_lettering(SHAPES, 10.0), tool(0.8), wood(), lid(), measures)
    measures.save()
    return found


def file_of(folder: Path) -> Path:
    (file,) = (folder / "measures").iterdir()
    return file


def never() -> GlyphMeasure:
    raise AssertionError("measured again")


def test_cold_warm_and_without_a_cache_are_the_same(tmp_path: Path) -> None:
    cold = looked(tmp_path)
    first = file_of(tmp_path).read_bytes()
    warm = looked(tmp_path)
    assert repr(cold) == repr(warm) == repr(looked(None))
    assert file_of(tmp_path).read_bytes() == first


def test_a_number_comes_back_exactly(tmp_path: Path) -> None:
    narrow = (Narrow(0.1 + 0.2, 1 / 3, -2e-17, None), Narrow(0.7, 0.0, 1.0, 3.1))
    measure = GlyphMeasure(strokes=narrow, specks=narrow[:1], crotches=(Crotch(0.1 + 0.7, 1 / 3, 0.0, -1e-17, 3.0),))
    one = KeptMeasures(tmp_path)
    one.get("face/a", BOX, lambda: measure)
    one.save()
    assert KeptMeasures(tmp_path).get("face/a", BOX, never) == measure


def test_what_another_process_has_measured_meanwhile_is_not_measured_again(tmp_path: Path) -> None:
    one, two = KeptMeasures(tmp_path), KeptMeasures(tmp_path)
    thin, wide = (GlyphMeasure(strokes=(Narrow(width, 0.0, 0.0, None),)) for width in (0.1, 0.2))
    two.get("face/a", BOX, lambda: thin)  # so that it has looked for the file, and found none
    one.get("face/b", BOX, lambda: wide)
    one.save()
    assert two.get("face/b", BOX, never) == wide
    two.save()
    assert one.get("face/a", BOX, never) == thin
    assert KeptMeasures(tmp_path).get("face/b", BOX, never) == wide


def test_a_file_is_read_again_only_if_another_lies_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looked(tmp_path)
    one, read = KeptMeasures(tmp_path), list[str]()
    plain = KeptMeasures._read
    monkeypatch.setattr(KeptMeasures, "_read", lambda self, face: (read.append(face), plain(self, face))[1])
    for letter in "abc":
        one.get(f"face/{letter}", BOX, GlyphMeasure)
    one.get("face/b~", BOX, GlyphMeasure)
    assert read == ["face"]
    one.save()  # merges with what lies there now
    one.get("face/d", BOX, GlyphMeasure)
    assert read == ["face", "face"]


@pytest.mark.parametrize(
    "broken",
    ["", "{", "[]", "null", '{"version": 1}', '{"version": "0", "measures": {}}', "\x00" * 40],
)
def test_a_broken_file_is_measured_anew_and_mended(tmp_path: Path, broken: str) -> None:
    good = looked(tmp_path)
    file = file_of(tmp_path)
    whole = file.read_bytes()
    file.write_text(broken, encoding="utf-8")
    assert repr(looked(tmp_path)) == repr(good)
    assert file.read_bytes() == whole


def test_a_measure_of_another_form_is_taken_anew(tmp_path: Path) -> None:
    good = looked(tmp_path)
    file = file_of(tmp_path)
    kept = json.loads(file.read_text(encoding="utf-8"))
    kept["measures"] = {key: [1, 2] for key in kept["measures"]}
    file.write_text(json.dumps(kept), encoding="utf-8")
    assert repr(looked(tmp_path)) == repr(good)


def test_a_folder_that_cannot_be_written_is_as_good_as_none(tmp_path: Path) -> None:
    (tmp_path / "measures").write_text("in the way", encoding="utf-8")
    assert repr(looked(tmp_path)) == repr(looked(None))


def _write(folder: Path, first: int) -> None:
    for n in range(first, first + 40, 2):
        one = KeptMeasures(folder)
        one.get(f"face/{n}", BOX, lambda: GlyphMeasure())
        one.save()


@pytest.mark.slow
def test_two_runs_at_once_leave_a_whole_file(tmp_path: Path) -> None:
    """Either may lose a glyph to the other, which is measured again; the file always reads."""
    both = [multiprocessing.get_context("spawn").Process(target=_write, args=(tmp_path, k)) for k in (0, 1)]
    for one in both:
        one.start()
    for one in both:
        one.join()
        assert one.exitcode == 0
    kept = json.loads(file_of(tmp_path).read_text(encoding="utf-8"))
    assert kept["measures"]
    last = {f"face/{38 + k}" for k in (0, 1)}
    assert last & set(kept["measures"])


def test_what_another_run_wrote_is_kept(tmp_path: Path) -> None:
    one, two = KeptMeasures(tmp_path), KeptMeasures(tmp_path)
    one.get("face/a", BOX, lambda: measure_region(SHAPES[1][1]))
    two.get("face/b", BOX, lambda: measure_region(SHAPES[0][1]))
    one.save()
    two.save()
    third = KeptMeasures(tmp_path)
    third.get("face/a", BOX, never)
    third.get("face/b", BOX, never)


def test_what_hardly_comes_again_is_not_kept_and_the_rest_has_a_bound(tmp_path: Path) -> None:
    def taken() -> GlyphMeasure:
        return GlyphMeasure()

    keep = KeptMeasures(tmp_path)
    for k in range(MOST_KEPT + 50):
        keep.get(f"face/joined/{k}", BOX, taken)
    for key in ("face/a/1", "face/a+0.01/2", "face/a~/3", "face/bent~/4"):
        keep.get(key, BOX, taken)
    keep.save()
    (file,) = (tmp_path / "measures").glob("*.json")
    kept = json.loads(file.read_text("utf-8"))["measures"]
    assert len(kept) == MOST_KEPT
    assert {"face/a/1", "face/a+0.01/2"} <= set(kept)
    assert not any("~" in key for key in kept)


@pytest.mark.parametrize(
    "text",
    ["[" * 100_000, "9" * 5000, '{"version": ' + "9" * 400 + "}", '{"a":' * 100_000, "NaN", '{"version": null, "measures": []}'],
    ids=["deep", "digits", "number", "tables", "nan", "list"],
)  # fmt: skip
def test_a_file_made_to_stop_a_run_is_measured_anew(tmp_path: Path, text: str) -> None:
    good = looked(tmp_path)
    file_of(tmp_path).write_text(text, encoding="utf-8")
    assert repr(looked(tmp_path)) == repr(good)


ODD = [None, True, "", -1, 0, 1e308, float("nan"), float("inf"), 10**400, [], [[]], 60.9, 1e-9, "[" * 5000]


@pytest.mark.parametrize("odd", ODD, ids=range(len(ODD)))
@pytest.mark.parametrize("place", ["entry", "text", "figure"])
def test_a_measure_that_was_altered_is_taken_anew(tmp_path: Path, odd: object, place: str) -> None:
    good = looked(tmp_path)
    file = file_of(tmp_path)
    kept = json.loads(file.read_text("utf-8"))
    for key, (digest, text) in kept["measures"].items():
        altered = text.replace("0.", f"{odd!r}", 2) if place == "figure" else odd
        kept["measures"][key] = odd if place == "entry" else [digest, altered]
    file.write_text(json.dumps(kept), encoding="utf-8")
    assert repr(looked(tmp_path)) == repr(good)


@pytest.mark.parametrize("width", [-1.0, 7.0, 60.9, 1e300, float("nan"), float("inf")])
@pytest.mark.parametrize("kind", ["strokes", "parts", "webs", "counters", "specks"])
def test_figures_beyond_the_glyph_s_own_bounds_are_not_believed(tmp_path: Path, width: float, kind: str) -> None:
    """Forged together with their digests, so that they are refused for what they claim."""
    _forged(tmp_path, GlyphMeasure(**{kind: (Narrow(width, 0.5, 0.5, None),)}))


@pytest.mark.parametrize("place", [(50.0, 0.5), (0.5, -50.0), (float("nan"), 0.5), (0.5, float("inf"))])
@pytest.mark.parametrize("kind", ["strokes", "parts", "webs", "counters"])
def test_places_beyond_the_glyph_s_own_bounds_are_not_believed(
    tmp_path: Path, place: tuple[float, float], kind: str
) -> None:
    _forged(tmp_path, GlyphMeasure(**{kind: (Narrow(0.01, *place, None),)}))


@pytest.mark.parametrize(
    "figures", [(0.1, 1e9, 0.5, 0.5, 0.0), (0.1, 0.1, 99.0, 0.5, 0.0), (0.1, 0.1, 0.5, 0.5, float("nan"))]
)
def test_crotches_beyond_the_glyph_s_own_bounds_are_not_believed(tmp_path: Path, figures: tuple[float, ...]) -> None:
    _forged(tmp_path, GlyphMeasure(crotches=(Crotch(*figures),)))


def _forged(folder: Path, forged: GlyphMeasure) -> None:
    """Let every glyph's kept measure be a forged one: what is found must be what is found without."""
    good = looked(folder)
    keys = list(json.loads(file_of(folder).read_text("utf-8"))["measures"])
    file_of(folder).unlink()
    forger = KeptMeasures(folder)
    for key in keys:
        forger.get(key, BOX, lambda: forged)
    forger.save()
    assert repr(looked(folder)) == repr(good)


def test_what_is_measured_on_letters_is_believed() -> None:
    shelf = load_shelf()
    for ident in ("withy", "hershey-script", "quicksand", "great-vibes", "ems-readability"):
        typeface = shelf.get(ident)
        lines = typeface.kind == "single-line"
        for placed in typeface.shape("MNAWgiju&8.?").placed:
            shape = glyph_shape(placed.glyph, lines)
            measure = measure_lines([np.asarray(g.coords) for g in shape.geoms]) if lines else measure_region(shape)
            assert is_believable(measure, shape.bounds), (ident, placed.text)


def imported_by(module: str) -> set[str]:
    """Every module of the package that a module imports, itself and what those import included."""
    found: set[str] = set()
    todo = [module]
    while todo:
        name = todo.pop()
        if name in found:
            continue
        found.add(name)
        for node in ast.walk(ast.parse(inspect.getsource(importlib.import_module(name)))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("engrave."):
                inner = [f"{node.module}.{a.name}" for a in node.names]
                todo += [i for i in inner if importlib.util.find_spec(str(node.module)).submodule_search_locations  # type: ignore[union-attr]
                         and importlib.util.find_spec(i)] or [str(node.module)]  # fmt: skip
    return found


def test_every_module_that_measures_is_in_the_version() -> None:
    assert imported_by("engrave.cutting.measure.glyphs") <= set(MEASURED_BY)


def test_another_figure_anywhere_in_what_measures_is_another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    before = measures_version()
    assert [kept.source_of(name).decode() for name in MEASURED_BY] == [
        inspect.getsource(importlib.import_module(name)) for name in MEASURED_BY
    ]
    source = kept.source_of
    for name in MEASURED_BY:

        def changed(module: str, name: str = name) -> bytes:
            return source(module) + (b"#" if module == name else b"")

        monkeypatch.setattr(kept, "source_of", changed)
        assert measures_version() != before
        monkeypatch.undo()
    assert measures_version() == before


def test_checking_writes_nothing(tmp_path: Path) -> None:
    check(region_lettering(SHAPES, 10.0), tool(0.8), wood(), lid(), KeptMeasures(tmp_path))
    assert not list(tmp_path.iterdir())
