# SPDX-License-Identifier: MIT
"""The cantilever that is equally strong all along, which is also the lightest.

A bar of constant width b under a force F at its end is nowhere stressed above σ if its depth is at
least t(x) = √(6 F x / (b σ)), x from the force: a parabola, two thirds of the prism of its root.
Stress in one stretch hangs on its own depth alone, so that no lighter one holds. The depth follows
from 6 F x / (b t²) = σ and is computed here; Galilei's two thirds (galilei-1638) are from memory,
and are what the sum over ever shorter stretches tends to.
"""

import math

import numpy as np
import pytest

import fea
from fea.study.gradient import total_rates
from fea.study.layout import Trial, search
from fea.study.response import bar_response
from fea.study.thickening import Thickening

FORCE, LENGTH, WIDTH, LIMIT = 50.0, 300.0, 25.0, 119.0
STOCK = np.arange(1.0, 8.01, 0.1).round(1)
METAL = fea.Isotropic(youngs_modulus=70e3, poisson_ratio=0.33, density=2.8e-6)


def bar(depth):
    return fea.StrutSection.rectangle(METAL, width=WIDTH, depth=depth, up=(0, 1, 0))


def cantilever(stretches):
    points = [[LENGTH * k / stretches, 0.0, 0.0] for k in range(stretches + 1)]
    lines = [[k, k + 1] for k in range(stretches)]
    mesh = fea.Mesh(points, {"line": lines}, places={"root": [0], "tip": [stretches]},
                    zones={f"stretch {k}": ("line", [k]) for k in range(stretches)})  # fmt: skip
    return fea.Model(mesh, {name: bar(4.0) for name in mesh.zones},
                     [fea.Support("root", "ux uy uz rx ry rz")],
                     {"tip": [fea.PointForce("tip", (0.0, 0.0, -FORCE))]})  # fmt: skip


def attempt_of(model):
    names = list(model.sections)
    start = fea.prepare(model)

    def attempt(layout, slopes):
        depths = [STOCK[number] for number in layout]
        system = start.with_sections({n: bar(t) for n, t in zip(names, depths, strict=True)})
        solution, thickening = system.solve(model.cases)["tip"], Thickening.of(system)
        responses = [bar_response(solution, thickening, k, 0, 2) for k in range(len(names))]
        keys = [("bar stress", name, "today") for name in names]
        rates = {
            key: total_rates(one, thickening)[1] / one.value
            for key, one in zip(keys, responses, strict=True)
        } if slopes else {}  # fmt: skip
        masses = np.array(depths) * WIDTH * LENGTH / len(names) * METAL.density
        shares = {key: one.value / LIMIT for key, one in zip(keys, responses, strict=True)}
        return Trial(layout, float(masses.sum()), shares, rates, masses)

    return attempt


@pytest.mark.parametrize("stretches", [4, 10])
def test_the_lightest_is_the_parabola_in_sheets_that_exist(stretches):
    found = search([STOCK] * stretches, attempt_of(cantilever(stretches)),
                   (len(STOCK) - 1,) * stretches, most=300)  # fmt: skip
    reach = LENGTH * (1.0 - np.arange(stretches) / stretches)  # of the inner ends from the force
    exact = np.sqrt(6.0 * FORCE * reach / (WIDTH * LIMIT))
    wanted = [float(STOCK[depth - 1e-9 <= STOCK][0]) for depth in exact]
    assert found.best is not None and found.complete
    assert [float(STOCK[number]) for number in found.best.layout] == wanted
    ends = math.fsum(math.sqrt((k + 1) / stretches) for k in range(stretches)) / stretches
    prism = exact[0] * WIDTH * LENGTH * METAL.density
    assert ends * prism <= found.best.mass <= (ends + 0.1 / exact[0]) * prism
    assert ends > 2.0 / 3.0  # to which stretches that get shorter lead


def test_stretches_that_get_shorter_lead_to_two_thirds():
    ends = [sum(math.sqrt((k + 1) / n) for k in range(n)) / n for n in (10, 1000)]
    assert ends[1] == pytest.approx(2.0 / 3.0, abs=6e-4) and ends[0] > ends[1]


def test_too_great_a_force_has_no_layout():
    """The root would have to be 22 mm deep, and the thickest there is has 8."""
    model = cantilever(3).with_cases({"tip": [fea.PointForce("tip", (0.0, 0.0, -800.0))]})
    found = search([STOCK] * 3, attempt_of(model), (40, 40, 40), most=100)
    assert found.best is None
    assert (len(STOCK) - 1,) * 3 in [each.layout for each in found.trials]
