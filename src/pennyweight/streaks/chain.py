"""Block tridiagonal algebra: matrices in which a line touches only its neighbors.

A precision of this shape is factored line by line, so time and memory grow with the
number of lines and not with its square. Blocks lie in memory column by column, as
the linear algebra wants them: nothing is copied to be turned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotrf, dtrtrs

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A symmetric block tridiagonal matrix.

    Attributes
    ----------
    diagonal : ndarray, shape (n_lines, n_grid, n_grid)
        Blocks on the diagonal [-].
    below : ndarray, shape (n_lines - 1, n_grid, n_grid)
        Blocks below it: row of the lower line, column of the upper one [-].
    """

    diagonal: FloatArray
    below: FloatArray

    def times(self, field: FloatArray) -> FloatArray:
        """Return the product with one vector or several.

        Parameters
        ----------
        field : ndarray, shape (n_lines, n_grid) or (n_lines, n_grid, n_right)
            One value a place [-].

        Returns
        -------
        ndarray, the shape of the field
            The product.
        """
        column = field.reshape(*field.shape[:2], -1)
        product = self.diagonal @ column
        product[1:] += self.below @ column[:-1]
        product[:-1] += self.below.transpose(0, 2, 1) @ column[1:]
        return product.reshape(field.shape)


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """The lower Cholesky factor of a chain.

    Attributes
    ----------
    root : ndarray, shape (n_lines, n_grid, n_grid)
        Lower triangles on the diagonal [-].
    below : ndarray, shape (n_lines - 1, n_grid, n_grid)
        Blocks below it [-].
    """

    root: FloatArray
    below: FloatArray

    @property
    def log_det(self) -> float:
        """Log determinant of the chain that was factored."""
        return 2.0 * float(np.log(np.diagonal(self.root, axis1=1, axis2=2)).sum())


def _by_columns(shape: tuple[int, int, int]) -> FloatArray:
    """Return empty blocks, each stored column by column."""
    empty: FloatArray = np.empty((shape[0], shape[2], shape[1]))
    return empty.transpose(0, 2, 1)


def factor_chain(chain: Chain) -> Factor:
    """Return the Cholesky factor of a chain.

    Parameters
    ----------
    chain : Chain
        Positive definite.

    Returns
    -------
    Factor
        Its lower factor.

    Raises
    ------
    ValueError
        A block is not positive definite.

    Notes
    -----
    L_j L_j' = D_j - U_j U_j', U_j L_(j-1)' = B_j: the block form of Cholesky's method
    (Golub and Van Loan 2013, Matrix Computations, section 4.5; from memory).
    """
    n_lines, n_grid, _ = chain.diagonal.shape
    root = _by_columns((n_lines, n_grid, n_grid))
    below: FloatArray = np.empty_like(chain.below)
    block = chain.diagonal[0]
    for at in range(n_lines):
        found, failed = dpotrf(block.T, lower=1, clean=1)
        if failed:
            msg = (
                f"block {at} of the field's precision is not positive definite at "
                f"column {failed}; every block must be. Check the lengths and sigma."
            )
            raise ValueError(msg)
        root[at] = found
        if at < n_lines - 1:
            below[at] = dtrtrs(found, chain.below[at].T, lower=1)[0].T
            block = chain.diagonal[at + 1] - below[at] @ below[at].T
    return Factor(root=root, below=below)


def solve_down(factor: Factor, right: FloatArray) -> FloatArray:
    """Return L^-1 times right-hand sides.

    Parameters
    ----------
    factor : Factor
        L.
    right : ndarray, shape (n_lines, n_grid, n_right)
        Right-hand sides [-].

    Returns
    -------
    ndarray, shape (n_lines, n_grid, n_right)
        The solution.
    """
    out: FloatArray = np.empty_like(right)
    held = right[0]
    for at, root in enumerate(factor.root):
        out[at] = dtrtrs(root, held, lower=1)[0]
        if at < len(factor.below):
            held = right[at + 1] - factor.below[at] @ out[at]
    return out


def solve_up(factor: Factor, right: FloatArray) -> FloatArray:
    """Return L^-T times right-hand sides; white noise becomes draws.

    Parameters
    ----------
    factor : Factor
        L.
    right : ndarray, shape (n_lines, n_grid, n_right)
        Right-hand sides [-].

    Returns
    -------
    ndarray, shape (n_lines, n_grid, n_right)
        The solution.
    """
    out: FloatArray = np.empty_like(right)
    held = right[-1]
    for at in range(len(factor.root) - 1, -1, -1):
        out[at] = dtrtrs(factor.root[at], held, lower=1, trans=1)[0]
        if at:
            held = right[at - 1] - factor.below[at - 1].T @ out[at]
    return out


def solve_chain(factor: Factor, right: FloatArray) -> FloatArray:
    """Return the solution of the chain for right-hand sides.

    Parameters
    ----------
    factor : Factor
        Of the chain.
    right : ndarray, shape (n_lines, n_grid, n_right)
        Right-hand sides [-].

    Returns
    -------
    ndarray, shape (n_lines, n_grid, n_right)
        The solution.
    """
    return solve_up(factor, solve_down(factor, right))


def inverse_blocks(factor: Factor) -> FloatArray:
    """Return the diagonal blocks of the inverse: the covariance of each line.

    Parameters
    ----------
    factor : Factor
        Of a precision.

    Returns
    -------
    ndarray, shape (n_lines, n_grid, n_grid)
        Covariances [-].

    References
    ----------
    Takahashi's recursion from the last line up: Rue and Held 2005, Gaussian Markov
    Random Fields, section 2.4 (from memory).
    """
    out: FloatArray = np.empty_like(factor.root)
    n_lines, n_grid, _ = factor.root.shape
    for at in range(n_lines - 1, -1, -1):
        inner = np.eye(n_grid)
        if at < n_lines - 1:
            inner += factor.below[at].T @ out[at + 1] @ factor.below[at]
        half = dtrtrs(factor.root[at], inner, lower=1, trans=1)[0]
        out[at] = dtrtrs(factor.root[at], half.T, lower=1, trans=1)[0]
    return out
