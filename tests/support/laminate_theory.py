# SPDX-License-Identifier: MIT
"""Layered plates under a sinusoidal pressure, without the program: shear-flexible and exact.

Everything starts from the elastic tensor of a layer, turned in space, not from fea.material. The
shear-flexible plate (Whitney J M, Pagano N J, J Appl Mech 1970;37:1031-1036) is solved in Navier's
form, its transverse shear stiffness from the energy of the equilibrium stress (Whitney J M, J Appl
Mech 1973;40:302-304). The exact solution integrates three-dimensional elasticity through the layers
(Pagano N J, J Compos Mater 1969;3:398-411 and 1970;4:20-34).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import expm

_VOIGT = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
_PLANE = [0, 1, 5]
_GAUSS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True)
class Fibre:
    """A layer's material: axis 1 along the fibres, axes 2 and 3 alike but for the shear moduli."""

    e1: float
    e2: float
    nu12: float
    g12: float
    g13: float
    g23: float
    nu23: float

    def turned(self, angle_deg):
        """Stiffness (6, 6), order xx yy zz yz xz xy, fibres turned from x towards y."""
        compliance = np.diag([1 / self.e1, 1 / self.e2, 1 / self.e2,
                              1 / self.g23, 1 / self.g13, 1 / self.g12])
        compliance[0, 1:3] = compliance[1:3, 0] = -self.nu12 / self.e1
        compliance[1, 2] = compliance[2, 1] = -self.nu23 / self.e2
        stiffness = np.linalg.inv(compliance)
        tensor = np.empty((3, 3, 3, 3))
        for a, (i, j) in enumerate(_VOIGT):
            for b, (k, m) in enumerate(_VOIGT):
                tensor[i, j, k, m] = tensor[j, i, k, m] = stiffness[a, b]
                tensor[i, j, m, k] = tensor[j, i, m, k] = stiffness[a, b]
        c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
        tensor = np.einsum("ai,bj,ck,dm,ijkm->abcd", turn, turn, turn, turn, tensor)
        return np.array([[tensor[i, j, k, m] for k, m in _VOIGT] for i, j in _VOIGT])


@dataclass(frozen=True)
class Stack:
    """Layers from bottom to top: one material, an angle and a thickness for each."""

    fibre: Fibre
    angles_deg: tuple[float, ...]
    thicknesses: tuple[float, ...]

    @cached_property
    def faces(self):
        """Heights (p + 1,) of the layer faces above the middle."""
        return np.concatenate([[0], np.cumsum(self.thicknesses)]) - sum(self.thicknesses) / 2

    @property
    def spans(self):
        """Heights of bottom and top of each layer."""
        return list(zip(self.faces[:-1], self.faces[1:], strict=True))

    @cached_property
    def solid(self):
        """Stiffness (p, 6, 6) of each layer."""
        return np.array([self.fibre.turned(angle) for angle in self.angles_deg])

    @cached_property
    def plane(self):
        """Stiffness (p, 3, 3) of each layer where the stress through it vanishes."""
        out = self.solid[:, _PLANE, 2]
        rigid = self.solid[:, _PLANE][:, :, _PLANE]
        return rigid - out[:, :, None] * out[:, None, :] / self.solid[:, 2, 2, None, None]

    @cached_property
    def plate(self):
        """Stiffness (8, 8) of the shear-flexible plate: N, M, Q on ε, κ, γ."""
        result = np.zeros((8, 8))
        flexibility = np.zeros((2, 2))
        for layer, (low, high) in enumerate(self.spans):
            for point, weight in zip(*_GAUSS, strict=True):
                z, dz = (low + high + point * (high - low)) / 2, weight * (high - low) / 2
                lever = np.hstack([np.eye(3), z * np.eye(3)])
                result[:6, :6] += dz * lever.T @ self.plane[layer] @ lever
                share = np.diag(self.shear_share(z))
                moduli = self.solid[layer][np.ix_([4, 3], [4, 3])]
                flexibility += dz * share @ np.linalg.inv(moduli) @ share
        result[6:, 6:] = np.linalg.inv(flexibility)
        return result

    def shear_share(self, z):
        """Stress τxz, τyz (2,) at a height per shear force, in cylindrical bending about each axis.

        Equilibrium: −∫ Q (z − z_n) dz / ∫ Q (z − z_n)² dz from the bottom up to z.
        """
        direct = self.plane[:, [0, 1], [0, 1]]
        low, high = self.faces[:-1, None], self.faces[1:, None]
        neutral = (direct * (high**2 - low**2) / 2).sum(0) / (direct * (high - low)).sum(0)
        cubes = (direct * ((high - neutral) ** 3 - (low - neutral) ** 3) / 3).sum(0)
        top = np.clip(z, low, high)
        return -(direct * ((top - neutral) ** 2 - (low - neutral) ** 2) / 2).sum(0) / cubes


def strain_of_wave(p, r):
    """(3, 2) from the amplitudes of u, v to those of εx, εy, γxy.

    u ~ cos·sin, v ~ sin·cos; for r = 0 both ~ cos(px). Its transpose takes σx, σy, τxy to the
    slopes of τxz, τyz through the thickness.
    """
    return np.array([[-p, 0], [0, -r], [r, p]] if r else [[-p, 0], [0, 0], [0, -p]])


@dataclass(frozen=True)
class PlateWave:
    """Amplitudes of the shear-flexible plate under q sin(px) sin(ry).

    `kind` "cross": u, φx ~ cos·sin and v, φy ~ sin·cos, for cross-ply walls (edges held along
    themselves); "angle": u ~ sin·cos, v ~ cos·sin, φ as before, for antisymmetric angle-ply (edges
    held across themselves). With r = 0, "cross", any wall: cylindrical bending.
    """

    stack: Stack
    p: float
    r: float
    pressure: float = 1.0
    kind: str = "cross"
    shear: float = 1.0  # multiplies the transverse shear stiffness

    @cached_property
    def motion(self):
        """Amplitudes of u, v, w, φx, φy."""
        stiffness = self._operator.T @ self._plate @ self._operator
        return np.linalg.solve(stiffness, [0, 0, self.pressure, 0, 0])

    @cached_property
    def strains(self):
        """Amplitudes (8,) of ε11 ε22 γ12 κ11 κ22 κ12 γ13 γ23."""
        return self._operator @ self.motion

    @cached_property
    def forces(self):
        """Amplitudes (8,) of N, M, Q."""
        return self._plate @ self.strains

    def stress(self, layer, z):
        """Amplitudes of σx, σy, τxy of one layer at a height; for "cross" only."""
        return self.stack.plane[layer] @ (self.strains[:3] + z * self.strains[3:6])

    def shear_stress(self, z):
        """Amplitudes of τxz, τyz at a height from equilibrium of the layers below; "cross" only."""
        result = np.zeros(2)
        for layer, (low, high) in enumerate(self.stack.spans):
            high = min(high, z)
            if high > low:  # linear in z: the value at the middle is the mean
                middle = self.stress(layer, (low + high) / 2)
                result += (high - low) * strain_of_wave(self.p, self.r).T @ middle
        return result

    @cached_property
    def _plate(self):
        plate = self.stack.plate.copy()
        plate[6:, 6:] *= self.shear
        return plate

    @cached_property
    def _operator(self):
        bend = strain_of_wave(self.p, self.r)
        result = np.zeros((8, 5))
        result[:3, :2] = {"cross": bend, "angle": -bend}[self.kind]
        result[3:6, 3:] = bend
        result[6:, 2:] = [[self.p, 1, 0], [self.r, 0, 1]]
        return result


@dataclass(frozen=True)
class SolidWave:
    """Exact amplitudes under q sin(px) sin(ry) on the top: cross-ply walls, or r = 0 and any."""

    stack: Stack
    p: float
    r: float
    pressure: float = 1.0

    def _rates(self, layer):
        """d/dz of (u, v, w, τxz, τyz, σz) in one layer."""
        c, bend = self.stack.solid[layer], strain_of_wave(self.p, self.r)
        result = np.zeros((6, 6))
        result[:2, 2] = -self.p, -self.r
        result[:2, 3:5] = np.linalg.inv(c[np.ix_([4, 3], [4, 3])])
        result[2, :2] = -c[2, _PLANE] @ bend / c[2, 2]
        result[2, 5] = 1 / c[2, 2]
        stress = c[_PLANE, 2][:, None] * result[2]
        stress[:, :2] += c[np.ix_(_PLANE, _PLANE)] @ bend
        result[3:5] = bend.T @ stress
        result[5, 3:5] = self.p, self.r
        return result

    def _through(self, z):
        """From the bottom to a height."""
        result = np.eye(6)
        for layer, (low, high) in enumerate(self.stack.spans):
            if z > low:
                result = expm(self._rates(layer) * (min(z, high) - low)) @ result
        return result

    @cached_property
    def _bottom(self):
        across = self._through(self.stack.faces[-1])[3:, :3]
        return np.concatenate([np.linalg.solve(across, [0, 0, self.pressure]), np.zeros(3)])

    def state(self, z):
        """Amplitudes of u, v, w, τxz, τyz, σz at a height."""
        return self._through(z) @ self._bottom

    def stress(self, layer, z):
        """Amplitudes of σx, σy, τxy of one layer at a height."""
        state, c = self.state(z), self.stack.solid[layer]
        strain = strain_of_wave(self.p, self.r) @ state[:2]
        thick = (state[5] - c[2, _PLANE] @ strain) / c[2, 2]
        return c[np.ix_(_PLANE, _PLANE)] @ strain + c[_PLANE, 2] * thick
