"""Measures kept on disk: cold and warm alike, two writers, files that are broken or of another day."""

from __future__ import annotations

import json
import multiprocessing
from pathlib import Path

import pytest
from shapely import Point, box

from cutting.workbench import lid, region_lettering, tool, wood
from engrave.cutting import Fitness, Measures, check
from engrave.cutting.measure.crotch import Crotch
from engrave.cutting.measure.glyphs import GlyphMeasure, measure_region
from engrave.cutting.measure.kept import MOST_KEPT
from engrave.geometry.medial_graph import Narrow

SHAPES = [("o", Point(3, 3).buffer(3).difference(Point(3, 3).buffer(1.7))), ("i", box(8, 0, 9.3, 10))]


def looked(folder: Path | None) -> Fitness:
    return check(region_lettering(SHAPES, 10.0), tool(0.8), wood(), lid(), Measures(folder))


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
    one = Measures(tmp_path)
    one.get("face/a", lambda: measure)
    one.save()
    assert Measures(tmp_path).get("face/a", never) == measure


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
        one = Measures(folder)
        one.get(f"face/{n}", lambda: GlyphMeasure())
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
    one, two = Measures(tmp_path), Measures(tmp_path)
    one.get("face/a", lambda: measure_region(SHAPES[1][1]))
    two.get("face/b", lambda: measure_region(SHAPES[0][1]))
    one.save()
    two.save()
    third = Measures(tmp_path)
    third.get("face/a", never)
    third.get("face/b", never)


def test_what_hardly_comes_again_is_not_kept_and_the_rest_has_a_bound(tmp_path: Path) -> None:
    def taken() -> GlyphMeasure:
        return GlyphMeasure()

    keep = Measures(tmp_path)
    for k in range(MOST_KEPT + 50):
        keep.get(f"face/joined/{k}", taken)
    for key in ("face/a/1", "face/a+0.01/2", "face/a~/3", "face/bent~/4"):
        keep.get(key, taken)
    keep.save()
    (file,) = (tmp_path / "measures").glob("*.json")
    kept = json.loads(file.read_text("utf-8"))["measures"]
    assert len(kept) == MOST_KEPT
    assert {"face/a/1", "face/a+0.01/2"} <= set(kept)
    assert not any("~" in key for key in kept)
