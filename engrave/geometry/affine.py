"""Affine maps of points, arrays of points and shapes: the one form in which they are kept, and what is done with them."""

from __future__ import annotations

import numpy as np
from shapely import transform
from shapely.geometry.base import BaseGeometry

from engrave.geometry.arrays import Floats

Matrix = tuple[float, float, float, float, float, float]
"""Affine map as in SVG: x' = a x + c y + e, y' = b x + d y + f."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def map_point(m: Matrix, p: tuple[float, float]) -> tuple[float, float]:
    """Map a point by an affine matrix."""
    a, b, c, d, e, f = m
    return (a * p[0] + c * p[1] + e, b * p[0] + d * p[1] + f)


def map_points(m: Matrix, points: Floats) -> Floats:
    """Map points of shape (n, 2) by an affine matrix."""
    a, b, c, d, e, f = m
    return np.asarray(points @ np.array([[a, b], [c, d]]) + (e, f))


def map_shape(shape: BaseGeometry, m: Matrix) -> BaseGeometry:
    """Return a shapely geometry mapped by an affine matrix."""
    return transform(shape, lambda points: map_points(m, points))


def matrix_product(outer: Matrix, inner: Matrix) -> Matrix:
    """Return the matrix that applies `inner` first, then `outer`."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def inverse_matrix(m: Matrix) -> Matrix:
    """Return the matrix that undoes m. Raises ZeroDivisionError if m flattens the plane."""
    a, b, c, d, e, f = m
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)
