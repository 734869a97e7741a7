"""Solving the arrow-shaped normal equations: a banded block for the curves with a narrow border."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky, cholesky_banded, solve_triangular
from scipy.sparse import csr_array

from elbowroom.core.reconstruction.layout import BAND, Layout
from elbowroom.core.reconstruction.terms import Term
from elbowroom.core.reconstruction.types import Array

SMALLEST_PIVOT = 1e-6
"""Added to the diagonal so that a control point that nothing holds has a (huge) finite variance, 1/m^2."""


@dataclass(frozen=True, kw_only=True)
class Factored:
    """Factors of the information matrix [[A, B], [B^T, D]] and the step that solves it."""

    factor: Array
    """(band + 1, n) lower banded Cholesky factor of A."""
    carried: Array
    """(n, p) A^-1 B: how the curves follow the border."""
    border: Array
    """(p, p) lower Cholesky factor of D - B^T A^-1 B."""
    step: Array
    """(n + p,) Gauss-Newton step."""


def build_system(terms: list[Term], layout: Layout) -> tuple[csr_array, Array]:
    """Return the sparse information matrix J^T J (n + p square) and the right-hand side -J^T r."""
    rows, columns, slopes, residuals, start = [], [], [], [], 0
    for term in terms:
        count, width = term.columns.shape
        rows.append(np.repeat(np.arange(start, start + count), width))
        columns.append(term.columns.ravel())
        slopes.append(term.slopes.ravel())
        residuals.append(term.residuals)
        start += count
    matrix = csr_array(
        (np.concatenate(slopes), (np.concatenate(rows), np.concatenate(columns))), shape=(start, layout.size)
    )
    return csr_array(matrix.T @ matrix), -(matrix.T @ np.concatenate(residuals))


@dataclass(frozen=True, kw_only=True)
class Reduced:
    """An arrow matrix with the curves taken out: what is left for the border."""

    factor: Array
    """(band + 1, n) lower banded Cholesky factor of A."""
    carried: Array
    """(n, p) A^-1 B: how the curves follow the border."""
    first: Array
    """(n,) step of the curves while the border stands still."""
    border: Array
    """(p, p) information of the border, D - B^T A^-1 B."""
    rest: Array
    """(p,) right-hand side of the border."""


def solve_arrow(information: csr_array, right: Array, layout: Layout) -> Reduced:
    """Return the arrow matrix with its curves taken out; raises LinAlgError where it is not positive."""
    n = layout.curve
    factor = cholesky_banded(extract_band(information[:n, :n]), lower=True)
    edge = information[:n, n:].toarray()
    carried = cho_solve_banded((factor, True), edge)
    first = cho_solve_banded((factor, True), right[:n])
    return Reduced(
        factor=factor,
        carried=carried,
        first=first,
        border=information[n:, n:].toarray() - edge.T @ carried,
        rest=right[n:] - edge.T @ first,
    )


def factor_system(information: csr_array, right: Array, layout: Layout) -> Factored:
    """Return the factors of the arrow matrix and the step; raises LinAlgError where it is not positive."""
    reduced = solve_arrow(information, right, layout)
    border = cholesky(reduced.border, lower=True)
    tail = solve_triangular(border, solve_triangular(border, reduced.rest, lower=True), lower=True, trans="T")
    step = np.concatenate([reduced.first - reduced.carried @ tail, tail])
    return Factored(factor=reduced.factor, carried=reduced.carried, border=border, step=step)


def extract_band(matrix: csr_array) -> Array:
    """Return a symmetric sparse matrix in LAPACK's lower band storage, (band + 1, n), with a tiny ridge."""
    entries = matrix.tocoo()
    lower = entries.row >= entries.col
    band = np.zeros((BAND + 1, matrix.shape[0]))
    np.add.at(band, (entries.row[lower] - entries.col[lower], entries.col[lower]), entries.data[lower])
    band[0] += SMALLEST_PIVOT
    return band
