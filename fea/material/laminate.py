# SPDX-License-Identifier: MIT
"""Plies and laminates: classical lamination theory with transverse shear from equilibrium."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.errors import MaterialError
from fea.material.isotropic import Isotropic, require_positive

_SINGULAR = 1e-9  # ratio of moduli; rubber beside carbon fibre stands at 1e-6
_GAUSS_POINTS, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True)
class Ply:
    """One orthotropic layer; axis 1 along the fibres (or the warp), axis 2 across, 3 through.

    Args:
        e1: Young's modulus along axis 1, MPa.
        e2: Young's modulus along axis 2, MPa.
        nu12: major Poisson ratio, strain along 2 caused by stress along 1;
            nu12² < e1 / e2 (positive strain energy).
        g12: in-plane shear modulus, MPa.
        g13: transverse shear modulus, MPa. Default g12, exact for a layer that is isotropic
            across the fibres.
        g23: transverse shear modulus, MPa. Default the smaller of g13 and the isotropic bound
            e2 / 2 (that is e2 / (2 (1 + nu23)) at nu23 = 0): an upper estimate; give it for a
            thick laminate or a core.
        density: kg/mm³; None when the mass is not asked for.

    Raises:
        MaterialError: a constant that is not finite, breaks the limits of positive energy, or
            leaves a stiffness lost in rounding beside the others.

    Source: jones-1999, section 2.4 (limits on engineering constants).

    Example:
        >>> cloth = Ply(e1=60000.0, e2=60000.0, nu12=0.03, g12=2700.0)
        >>> cloth.plane_stress.round(1).tolist()
        [[60054.0, 1801.6, 0.0], [1801.6, 60054.0, 0.0], [0.0, 0.0, 2700.0]]
    """

    e1: float
    e2: float
    nu12: float
    g12: float
    g13: float | None = None
    g23: float | None = None
    density: float | None = None

    def __post_init__(self) -> None:
        for name in ("e1", "e2", "g12", "g13", "g23", "density"):
            value = getattr(self, name)
            if value is not None:
                require_positive(name, value)
        if not self.nu12**2 < self.e1 / self.e2:
            raise MaterialError(
                f"nu12 is {self.nu12}, but its square must stay below e1/e2 = "
                f"{self.e1 / self.e2:.4g}; are e1 and e2, or nu12 and nu21, exchanged?"
            )
        moduli = (*np.linalg.eigvalsh(self.plane_stress), *self.transverse_moduli)
        if min(moduli) < _SINGULAR * max(moduli):
            raise MaterialError(
                f"the ply is singular for a computer: its softest stiffness is {min(moduli):.1e} "
                f"where the stiffest is {max(moduli):.1e}; look for a shear modulus or e2 in "
                "another unit, or nu12 at the limit of positive energy"
            )

    @property
    def plane_stress(self) -> NDArray[np.float64]:
        """(3, 3) stiffness in plane stress, MPa; components 11, 22, 12 with engineering shear."""
        nu21 = self.nu12 * self.e2 / self.e1
        scale = 1.0 / (1.0 - self.nu12 * nu21)
        coupling = self.nu12 * self.e2 * scale
        return np.array(
            [[self.e1 * scale, coupling, 0], [coupling, self.e2 * scale, 0], [0, 0, self.g12]]
        )

    def softened(self, share: float) -> "Ply":
        """The same with this share of its stiffness in every direction."""
        names = ("e1", "e2", "g12", "g13", "g23")
        known = {name: value for name in names if (value := getattr(self, name)) is not None}
        return replace(self, **{name: share * value for name, value in known.items()})

    @property
    def transverse_moduli(self) -> tuple[float, float]:
        """Transverse shear moduli G13 and G23, MPa, with the defaults filled in."""
        g13 = self.g12 if self.g13 is None else self.g13
        return g13, min(g13, 0.5 * self.e2) if self.g23 is None else self.g23


@dataclass(frozen=True, eq=False)
class Laminate:
    """A stack of plies, bottom (-3 side) to top.

    Args:
        plies: one material for all layers, or one per layer; `Ply` or `Isotropic`.
        angles_deg: (p,) angle of each ply's axis 1 from the laminate's axis 1, degrees, positive
            from axis 1 towards axis 2.
        thicknesses: thickness of each ply, mm; (p,) or one number for all.

    Raises:
        MaterialError: no ply, counts that differ, a thickness that is not above 0, or an angle
            that is not finite.

    Example:
        >>> cloth = Ply(e1=60000.0, e2=60000.0, nu12=0.03, g12=2700.0, density=1.5e-6)
        >>> wall = Laminate(cloth, angles_deg=[0, 45, 45, 0], thicknesses=0.25)
        >>> wall.thickness
        1.0
        >>> bool(abs(wall.abd[:3, 3:]).max() < 1e-9)  # symmetric: no coupling
        True
    """

    plies: tuple[Ply | Isotropic, ...]
    angles_deg: tuple[float, ...]
    thicknesses: tuple[float, ...]

    def __init__(
        self,
        plies: Ply | Isotropic | Sequence[Ply | Isotropic],
        angles_deg: Sequence[float],
        thicknesses: float | Sequence[float],
    ):
        count = len(angles_deg)
        stack = (plies,) * count if isinstance(plies, (Ply, Isotropic)) else tuple(plies)
        layers = np.ravel(np.asarray(thicknesses, dtype=float))
        layers = np.repeat(layers, count) if np.ndim(thicknesses) == 0 else layers
        if not (count == len(stack) == len(layers)) or count == 0:
            raise MaterialError(
                f"a laminate needs one angle, thickness and material per ply; got {count} "
                f"angle(s), {len(layers)} thickness(es) and {len(stack)} material(s)"
            )
        for number, (thickness, angle) in enumerate(zip(layers, angles_deg, strict=True), start=1):
            require_positive(f"thickness of ply {number}", thickness)
            if not math.isfinite(angle):
                raise MaterialError(f"angle of ply {number} is {angle}; give degrees")
        object.__setattr__(self, "plies", stack)
        object.__setattr__(self, "angles_deg", tuple(float(angle) for angle in angles_deg))
        object.__setattr__(self, "thicknesses", tuple(layers.tolist()))

    def softened(self, share: float) -> "Laminate":
        """The same with this share of the stiffness of every ply.

        Example:
            >>> wall = Laminate(Ply(60e3, 60e3, 0.03, 2.7e3), angles_deg=[0, 45], thicknesses=0.5)
            >>> bool(np.allclose(wall.softened(0.5).abd, 0.5 * wall.abd))
            True
        """
        plies = [ply.softened(share) for ply in self.plies]
        return Laminate(plies, self.angles_deg, self.thicknesses)

    @property
    def thickness(self) -> float:
        """Total thickness, mm."""
        return math.fsum(self.thicknesses)

    @property
    def areal_mass(self) -> float:
        """Mass per area, kg/mm²; raises `MaterialError` when a ply has no density."""
        total = 0.0
        for number, (ply, t) in enumerate(zip(self.plies, self.thicknesses, strict=True), start=1):
            if ply.density is None:
                raise MaterialError(f"ply {number} has no density, so the wall has no known mass")
            total += ply.density * t
        return total

    @cached_property
    def interfaces(self) -> NDArray[np.float64]:
        """(p + 1,) heights of the ply faces above the mid-plane, bottom to top, mm."""
        return np.concatenate([[0.0], np.cumsum(self.thicknesses)]) - 0.5 * self.thickness

    @cached_property
    def ply_stiffness(self) -> NDArray[np.float64]:
        """(p, 3, 3) plane-stress stiffness of each ply in laminate axes, MPa."""
        local = np.stack([ply.plane_stress for ply in self.plies])
        turn = strain_rotation(self.angles_deg)
        return np.einsum("pji,pjk,pkl->pil", turn, local, turn)

    @cached_property
    def abd(self) -> NDArray[np.float64]:
        """(6, 6) stiffness about the mid-plane.

        Rows N11 N22 N12 (N/mm) and M11 M22 M12 (N·mm/mm), columns mid-plane strains ε11 ε22 γ12
        and curvatures κ11 κ22 κ12 (1/mm), shear and twist in engineering measure.

        Source: jones-1999, equations 4.22 to 4.24.
        """
        z = self.interfaces
        a, b, d = (
            np.einsum("p,pij->ij", np.diff(z**power) / power, self.ply_stiffness)
            for power in (1, 2, 3)
        )
        return np.block([[a, b], [b, d]])

    @cached_property
    def transverse_shear(self) -> NDArray[np.float64]:
        """(2, 2) transverse shear stiffness [[S55, S45], [S45, S44]], N/mm; order 13, 23.

        The shear stress follows from equilibrium of the bending stress in cylindrical bending
        about each axis, and the stiffness from its strain energy: no correction factor is
        assumed. One isotropic layer gives 5/6 of G times thickness.

        Source: whitney-1973; nafems-r0031 for a worked laminate.
        """
        t = np.asarray(self.thicknesses)
        heights = self.interfaces[:-1, None] + 0.5 * t[:, None] * (1.0 + _GAUSS_POINTS)
        shape = self._shear_shape(heights)
        compliance = np.linalg.inv(self._transverse_moduli())
        weights = 0.5 * t[:, None] * _GAUSS_WEIGHTS
        return np.linalg.inv(
            np.einsum("pg,pgi,pij,pgj->ij", weights, shape, compliance, shape)
        )

    def interlaminar_shear(
        self, slope_1: ArrayLike, slope_2: ArrayLike, heights: ArrayLike | None = None
    ) -> NDArray[np.float64]:
        """Transverse shear stress through the wall, from equilibrium of the in-plane stress.

        Args:
            slope_1: (..., 6) change of N11 N22 N12 M11 M22 M12 per length along axis 1.
            slope_2: (..., 6) the same along axis 2.
            heights: (k,) heights above the mid-plane, mm; default the ply faces, bottom to top.

        Returns:
            (..., k, 2) stress 13 and 23 in laminate axes, MPa; zero at the bottom, and at the top
            where the membrane forces balance: N11,1 + N12,2 = N12,1 + N22,2 = 0.

        As exact as plane sections are. Where only shear forces are known, cylindrical bending is
        the usual assumption: M11,1 = Q13 and M12,1 = Q23 for the stress 13, M12,2 = Q13 and
        M22,2 = Q23 for the stress 23. In a thin square [0/90/0] plate it overrates the stress 23
        by 24 %, since the slope of M12 along axis 1 carries part of that shear force.

        Source: rohwer-1988; pagano-1970 for the distance.

        Example:
            >>> wall = Laminate(Isotropic(1000.0, 0.3), [0.0], 6.0)
            >>> bent = [0, 0, 0, 8.0, 0, 0]  # Q13 = 8 N/mm: 1.5 · 8 / 6 at mid-height
            >>> wall.interlaminar_shear(bent, [0] * 6, heights=[0.0])[0, 0].round(12).tolist()
            2.0
        """
        at = self.interfaces if heights is None else np.asarray(heights, dtype=float)
        low, high = self.interfaces[:-1], self.interfaces[1:]
        upper = np.clip(at[:, None], low, high)
        lever = np.stack([upper - low, 0.5 * (upper**2 - low**2)], axis=-1)
        compliance = np.linalg.inv(self.abd)

        def below(slope: ArrayLike) -> NDArray[np.float64]:
            """(..., k, 3) slopes of the stress, summed from the bottom up to each height."""
            rate = np.asarray(slope, dtype=float) @ compliance
            rate = rate.reshape(*rate.shape[:-1], 2, 3)
            return np.einsum("pij,kpm,...mj->...ki", self.ply_stiffness, lever, rate)

        along_1, along_2 = below(slope_1), below(slope_2)
        return -np.stack(
            [along_1[..., 0] + along_2[..., 2], along_1[..., 2] + along_2[..., 1]], axis=-1
        )

    def ply_stresses(self, strain: ArrayLike, curvature: ArrayLike) -> NDArray[np.float64]:
        """Stress at the bottom, middle and top of every ply, in ply axes.

        Args:
            strain: (..., 3) mid-plane strains ε11, ε22, γ12 in laminate axes.
            curvature: (..., 3) curvatures κ11, κ22, κ12, 1/mm.

        Returns:
            (..., p, 3, 3) stress, MPa: ply from bottom to top, then bottom, middle and top of
            the ply, then components 11, 22, 12.
        """
        z = self.interfaces
        heights = np.stack([z[:-1], 0.5 * (z[:-1] + z[1:]), z[1:]], axis=1)
        plane = np.asarray(strain, dtype=float)[..., None, None, :]
        bend = np.asarray(curvature, dtype=float)[..., None, None, :]
        at_height = plane + heights[:, :, None] * bend
        local = np.stack([ply.plane_stress for ply in self.plies])
        to_stress = local @ strain_rotation(self.angles_deg)
        return np.einsum("pij,...pzj->...pzi", to_stress, at_height)

    def _transverse_moduli(self) -> NDArray[np.float64]:
        """(p, 2, 2) transverse shear stiffness of each ply in laminate axes, MPa."""
        angle = np.radians(self.angles_deg)
        c, s = np.cos(angle), np.sin(angle)
        turn = np.stack([np.stack([c, s], axis=1), np.stack([-s, c], axis=1)], axis=1)
        local = np.array([ply.transverse_moduli for ply in self.plies])
        return np.einsum("pki,pk,pkj->pij", turn, local, turn)

    def _shear_shape(self, heights: NDArray[np.float64]) -> NDArray[np.float64]:
        """(p, g, 2) shear stress per shear force at (p, g) heights inside each ply, 1/mm."""
        z = self.interfaces[:, None]
        direct = np.stack([self.ply_stiffness[:, 0, 0], self.ply_stiffness[:, 1, 1]], axis=1)
        first = (direct * np.diff(z**2, axis=0) / 2).sum(axis=0)
        neutral = first / (direct * np.diff(z, axis=0)).sum(axis=0)
        arm = (z - neutral) ** 2 / 2
        bending = (direct * np.diff((z - neutral) ** 3, axis=0) / 3).sum(axis=0)
        below = np.cumsum(direct * np.diff(arm, axis=0), axis=0)
        below = np.concatenate([np.zeros((1, 2)), below[:-1]])
        inside = (heights[..., None] - neutral) ** 2 / 2 - arm[:-1, None]
        return -(below[:, None] + direct[:, None] * inside) / bending


def strain_rotation(angles_deg: ArrayLike) -> NDArray[np.float64]:
    """(p, 3, 3) matrices from engineering strain in laminate axes to ply axes.

    Args:
        angles_deg: (p,) angle of ply axis 1 from laminate axis 1, degrees.
    """
    angle = np.radians(np.asarray(angles_deg, dtype=float))
    c, s = np.cos(angle), np.sin(angle)
    rows = [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
    return np.moveaxis(np.array(rows), -1, 0)
