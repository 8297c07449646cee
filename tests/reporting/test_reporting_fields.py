# SPDX-License-Identifier: MIT
"""The fields of a real device say what the report's tables say, and which cells are left out."""

from types import SimpleNamespace

import meshio
import numpy as np
import pytest
from small_models import ALL, grid

import fea
from fea.check.factors import read_factors
from fea.check.judgement import judge
from fea.check.readings import read_shells
from fea.device.device import Device, Sole, Wall
from fea.material.library import read_library
from fea.reporting.fields import save_fields
from fea.tensors import von_mises

PLASTIC = read_library()["polypropylene-homopolymer"]


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """A strip of 100 mm, clamped at one end and bent at the other: judged, saved, read again."""
    mesh = grid(10, 3, lambda u, v: (100 * u, 20 * v, 0 * u))
    device = Device(
        name="strip", title="A strip", side="left", mesh=mesh, walls={"skin": Wall(PLASTIC, 4.0)},
        plate_zones=("skin",), foot_zones=("skin",), shank_zones=("skin",), landmarks={},
        sole=Sole(0.0, 0.0, 0.0), origin="invented",
    )  # fmt: skip
    sections = {"skin": fea.ShellSection(PLASTIC.elastic, thickness=4.0)}
    loads = {name: [fea.EdgeForce("u1", (0.1, 0, force))]
             for name, force in (("up", 0.1), ("down", -0.05))}
    model = fea.Model(mesh, sections, [fea.Support("u0", ALL)], loads)
    solutions = fea.solve(model)
    judged = judge(device, solutions, read_factors())
    result = SimpleNamespace(
        device=device, cell_utilisation=judged.cells, zones=read_shells(solutions),
        requirements=SimpleNamespace(allow_memory=True),
        run=SimpleNamespace(solutions=solutions, step={}, modes={}), left_out=judged.left_out,
    )  # fmt: skip
    path = tmp_path_factory.mktemp("fields") / "fields.vtu"
    save_fields(path, result)
    read = meshio.read(path)
    assert list(read.cells_dict) == ["triangle"]
    return result, {name: values[0] for name, values in read.cell_data.items()}


def test_the_corner_peaks_are_those_of_the_table(saved):
    result, fields = saved
    assert result.zones
    for item in result.zones:
        cells = result.device.mesh.zone(item.zone)[1]
        cells = cells[fields["left_out"][cells] != 1.0]
        peaks = {layer: fields[f"mises_corner_max_{layer}_mpa [{item.case}]"][cells]
                 for layer in ("bottom", "middle", "top")}
        assert peaks["top"].max() == pytest.approx(item.mises_top)
        assert peaks["middle"].max() == pytest.approx(item.mises_middle)
        assert peaks["bottom"].max() == pytest.approx(item.mises_bottom)
        hardest = np.argmax(np.max(list(peaks.values()), axis=0))
        error = fields[f"mises_corner_max_error_mpa [{item.case}]"][cells]
        assert error[hardest] == pytest.approx(item.error)


def test_the_means_of_cells_are_named_as_such_and_are_others(saved):
    result, fields = saved
    case, zone = result.zones[0].case, result.zones[0].zone
    cells = result.device.mesh.zone(zone)[1]
    means = fields[f"mises_cell_mean_top_mpa [{case}]"][cells]
    stress = von_mises(result.run.solutions[case].stress(zone, at="top"))
    np.testing.assert_allclose(means, stress)
    assert not np.allclose(means, fields[f"mises_corner_max_top_mpa [{case}]"][cells])
    assert not [name for name in fields if name.startswith("mises_top")]


def test_the_mask_tells_left_out_from_judged(saved):
    result, fields = saved
    mask, judged = fields["left_out"], ~np.isnan(result.cell_utilisation)
    np.testing.assert_array_equal(mask == 0.0, judged)
    (edge,) = result.left_out
    assert edge.reason == "held edge" and edge.cells.any()
    np.testing.assert_array_equal(mask == 1.0, edge.cells)


def test_a_triangle_that_is_not_judged_for_another_reason_has_no_mask(saved, tmp_path):
    result, _ = saved
    unknown = SimpleNamespace(**{**vars(result), "cell_utilisation": np.full(60, np.nan)})
    save_fields(tmp_path / "fields.vtu", unknown)
    mask = meshio.read(tmp_path / "fields.vtu").cell_data["left_out"][0]
    np.testing.assert_array_equal(mask == 1.0, result.left_out[0].cells)
    assert np.isnan(mask[~result.left_out[0].cells]).all()
