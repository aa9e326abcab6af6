"""A shop's drawings: read as what they are cut as, or refused with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from engrave.making import environment
from engrave.shop.artwork import Artwork, ArtworkError, Drawings
from engrave.shop.inputs import input_files


def drawn(folder: Path, body: str, name: str = "leaf.svg", **more: str) -> Artwork:
    (folder / "artwork").mkdir(exist_ok=True)
    attributes = " ".join(f'{k}="{v}"' for k, v in more.items())
    text = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50" {attributes}>{body}</svg>'
    (folder / "artwork" / name).write_text(text, encoding="utf-8")
    return Drawings(folder).named(name)


def test_what_each_shape_is_cut_as(tmp_path: Path) -> None:
    """Filled: a shape. Only stroked: a line. Filled white: wood that stays. Neither: nothing."""
    art = drawn(
        tmp_path,
        '<style>.pen{fill:none;stroke:#000}</style><rect width="40" height="20"/><path class="pen" d="M0 0 L100 50"/>'
        '<circle cx="9" cy="9" r="5" style="fill:#fff"/><path fill="none" d="M0 0 H5 V5 Z"/>',
    )
    assert [p.ink for p in art.parts] == ["shape", "line", "blank"]
    assert (art.width, art.height) == (1.0, pytest.approx(0.5))


def test_the_ending_may_be_left_out(tmp_path: Path) -> None:
    art = drawn(tmp_path, '<rect width="4" height="4"/>')
    assert Drawings(tmp_path).named("leaf") == art


def test_a_changed_drawing_is_read_anew(tmp_path: Path) -> None:
    one = drawn(tmp_path, '<rect width="4" height="4"/>')
    two = drawn(tmp_path, '<rect width="4" height="2"/>')
    assert one.digest != two.digest
    assert two.height == pytest.approx(0.5)


@pytest.mark.parametrize(
    "name", ["../leaf.svg", "a/leaf.svg", "a\\leaf.svg", "/etc/passwd", ".svg", "C:leaf", "x" * 200, "a\0b"]
)
def test_a_path_is_no_name(name: str, tmp_path: Path) -> None:
    with pytest.raises(ArtworkError, match="no bare file name"):
        Drawings(tmp_path).named(name)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("", "draws nothing that can be cut"),
        ("<text>Wanda</text>", "draws nothing that can be cut"),
        ('<path fill="none" d="M0 0 H5"/>', "draws nothing that can be cut"),
        ('<rect width="4" height="4" fill="white"/>', "draws nothing that can be cut"),
        ('<path d="' + "M0 0 l1 1 l1 0 z" * 2000 + '"/>', "more than is read"),
        ("<rect", "cannot be read as SVG"),
    ],
)
def test_a_drawing_that_cannot_be_used_says_why(body: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(ArtworkError, match=says):
        drawn(tmp_path, body)


def test_a_drawing_that_is_not_there(tmp_path: Path) -> None:
    drawn(tmp_path, '<rect width="4" height="4"/>')
    with pytest.raises(ArtworkError, match=r"no drawing 'laef\.svg'\. Did you mean 'leaf\.svg'\?"):
        Drawings(tmp_path).named("laef")
    with pytest.raises(ArtworkError, match="--shop"):
        Drawings(None).named("leaf")
    (tmp_path / "artwork" / "folder.svg").mkdir()
    with pytest.raises(ArtworkError, match="is a folder"):
        Drawings(tmp_path).named("folder")


def test_drawings_are_never_written_over(tmp_path: Path) -> None:
    drawn(tmp_path, '<rect width="4" height="4"/>')
    assert tmp_path / "artwork" / "leaf.svg" in input_files(tmp_path)
    assert environment(tmp_path).drawings.named("leaf").name == "leaf.svg"
