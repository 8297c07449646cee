# SPDX-License-Identifier: MIT
"""The shell once more, as a scikit-fem element in a bilinear form: the measure of the fast path.

The fast path stacks all strain matrices and multiplies them in blocks. Here the same generalised
strains are the values of basis functions on an embedded triangle mesh, and the library integrates
and scatters them. Both must agree to rounding; a test says so.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from skfem import Basis, BilinearForm, Functional, MeshTri
from skfem.element import DiscreteField, Element
from skfem.mapping import Mapping
from skfem.refdom import RefTri

from fea.element.shell import CORNERS, Facets, strain_matrices

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


class FacetMapping(Mapping):
    """Map from the reference triangle to flat facets in space.

    `F` returns points in space; the Jacobian is the (2, 2) one in the plane of the facet.

    Args:
        points: (m, 3) coordinates.
        triangles: (n, 3) node numbers.
        shell: the facets' frames.
    """

    def __init__(self, points: Array, triangles: IntArray, shell: Facets):
        self.corners = points[triangles]
        sides = shell.xy[:, 1:] - shell.xy[:, :1]
        self.jacobian = np.moveaxis(sides, (0, 1, 2), (2, 1, 0))  # (2, 2, n)
        (a, b), (c, d) = self.jacobian
        self.inverse = np.array([[d, -b], [-c, a]]) / (a * d - b * c)
        self.determinant = 2.0 * shell.area

    def F(self, X: Array, tind: IntArray | None = None) -> Array:
        """Points (3, n, q) in space at reference points (2, q)."""
        corner = self.corners if tind is None else self.corners[tind]
        shares = np.stack([1.0 - X[0] - X[1], X[0], X[1]])
        return np.einsum("nkd,kq->dnq", corner, shares)

    def DF(self, X: Array, tind: IntArray | None = None) -> Array:
        """Jacobian (2, 2, n, q) in the plane of the facet."""
        return _everywhere(self.jacobian, X, tind)

    def invDF(self, X: Array, tind: IntArray | None = None) -> Array:
        """Inverse (2, 2, n, q) of the Jacobian."""
        return _everywhere(self.inverse, X, tind)

    def detDF(self, X: Array, tind: IntArray | None = None) -> Array:
        """Determinant (n, q) of the Jacobian: twice the area."""
        return _everywhere(self.determinant, X, tind)


def _everywhere(values: Array, X: Array, tind: IntArray | None) -> Array:
    """Values (…, n) of a flat facet at each of q reference points: (…, n, q)."""
    chosen = values if tind is None else values[..., tind]
    return np.broadcast_to(chosen[..., None], (*chosen.shape, X.shape[-1]))


class ElementFacetShell(Element):
    """Basis functions whose values are the eight generalised strains of a degree of freedom.

    Args:
        strains: (n, 3, 8, 18) strain matrices at the three points of the element's own rule.
    """

    nodal_dofs = 6
    maxdeg = 1
    dofnames = ["ux", "uy", "uz", "rx", "ry", "rz"]
    doflocs = np.repeat([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]], 6, axis=0)
    refdom = RefTri

    def __init__(self, strains: Array):
        self.strains = strains

    def gbasis(
        self, mapping: Mapping, X: Array, i: int, tind: IntArray | None = None
    ) -> tuple[DiscreteField, ...]:
        """Generalised strains (8, n, q) that degree of freedom i produces."""
        if X.shape != (2, 3) or not np.allclose(X.T, CORNERS[:, 1:], atol=1e-14):
            raise ValueError("the element is defined at the three points of its own rule only")
        strains = self.strains if tind is None else self.strains[tind]
        return (DiscreteField(value=np.transpose(strains[..., i], (2, 0, 1))),)


def reference_basis(
    points: Array, triangles: IntArray, shell: Facets, stiffness: Array, factor: Array
) -> Basis:
    """scikit-fem basis of the shell on an embedded mesh; arguments as in `fea.element.shell`."""
    mesh = MeshTri(points.T.copy(), triangles.T.copy(), sort_t=False, validate=False)
    element = ElementFacetShell(strain_matrices(shell, stiffness, factor))
    return Basis(mesh, element, mapping=FacetMapping(points, triangles, shell), intorder=2)


def reference_matrix(basis: Basis, stiffness: Array) -> csr_matrix:
    """Stiffness (6 m, 6 m) by `BilinearForm`, from section stiffness (n, 8, 8)."""

    def form(u, v, w):  # type: ignore[no-untyped-def]
        return np.einsum("anq,abnq,bnq->nq", v, w.section, u)

    return csr_matrix(BilinearForm(form).assemble(basis, section=_at_points(stiffness)))


def reference_energy(basis: Basis, stiffness: Array, displacement: Array) -> float:
    """Strain energy by `Functional`, of displacements (6 m,)."""

    def form(w):  # type: ignore[no-untyped-def]
        return 0.5 * np.einsum("anq,abnq,bnq->nq", w.strain, w.section, w.strain)

    strain = basis.interpolate(displacement)
    return float(Functional(form).assemble(basis, strain=strain, section=_at_points(stiffness)))


def _at_points(stiffness: Array) -> Array:
    everywhere = np.moveaxis(stiffness, 0, -1)[..., None]
    return np.broadcast_to(everywhere, (*everywhere.shape[:-1], len(CORNERS)))
