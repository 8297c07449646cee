# SPDX-License-Identifier: MIT
"""First-ply failure against hand calculations."""

import numpy as np
import pytest

from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.plies import judge_plies
from fea.check.strength import Spot
from fea.material.library import read_library

LIBRARY = read_library()
FACTORS = read_factors()
PLACES = np.array([[0.0, 0.0, 10.0], [0.0, 0.0, 80.0]])
SPOT = Spot("upright", "push-off", PLACES)
CLOTH = LIBRARY["carbon-cloth-epoxy"]


def plies(stress, material=CLOTH, angles=(0, 0, 0)):
    return judge_plies(SPOT, stress, angles, material, FACTORS)


def ply_stress(stress, ply=1, layer=2, cell=1):
    values = np.zeros((2, 3, 3, 3))
    values[cell, ply, layer] = stress
    return values


def test_ply_maximum_stress_by_hand():
    # compression across: 480 MPa / 1.20 · 0.73 = 292 MPa; required 1.15 · 1.60 = 1.84
    stress, interaction, _ = plies(
        ply_stress([0.0, -100.0, 0.0]), angles=(0.0, 45.0, 0.0)
    ).findings
    assert stress.demand == pytest.approx(100.0)
    assert stress.capacity == pytest.approx(292.0, rel=2e-3)
    assert stress.required == pytest.approx(1.84, abs=2e-3)
    assert stress.met  # 2.92
    assert stress.place == (0.0, 0.0, 80.0)
    assert "compression along axis 2, top of ply 2 at 45°" in stress.basis
    assert interaction.topic == "ply interaction"
    assert interaction.demand == pytest.approx(100.0 / 292.0, rel=2e-3)
    assert interaction.unit == "1"


def test_ply_shear_governs_in_its_plane():
    # 67 / 1.20 · 0.73 = 40.8 MPa; 30 MPa leaves 1.36 < 1.84
    stress, *_ = plies(ply_stress([50.0, 0.0, -30.0])).findings
    assert stress.demand == pytest.approx(30.0)
    assert "shear in the plane" in stress.basis and not stress.met


def test_missing_ply_strength_is_named_and_never_passes():
    acrylic = LIBRARY["carbon-acrylic"]
    findings = plies(ply_stress([50.0, 0.0, 0.0]), acrylic).findings
    known = [finding for finding in findings if isinstance(finding, Check)]
    missing = [finding for finding in findings if isinstance(finding, NotChecked)]
    assert [check.topic for check in known] == ["ply stress, known strengths"]
    (gap,) = missing
    assert gap.topic == "ply stress"
    assert "compressive strength 1" in gap.because and "shear strength 12" in gap.because
    # tension that is known to be too much still fails: 236 · 1/1.37 = 172 MPa, required 1.84
    *_, beyond = plies(ply_stress([100.0, 0.0, 0.0]), acrylic).findings
    assert not beyond.met


def test_compression_alone_says_nothing_where_only_tension_is_known():
    acrylic = LIBRARY["carbon-acrylic"]
    *_, known = plies(np.full((2, 3, 3, 3), -10.0), acrylic).findings
    assert known.demand == 0.0 and known.topic == "ply stress, known strengths"


def test_the_error_of_plies_enters_every_criterion():
    away = np.zeros((2, 3, 3, 3))
    away[1, 1, 2] = [0.0, 20.0, 5.0]

    def error(measure):
        return measure(away)

    stress = ply_stress([0.0, -100.0, 0.0])
    larger, *exposed = judge_plies(SPOT, stress, (0, 45, 0), CLOTH, FACTORS, error).findings
    assert larger.demand == pytest.approx(120.0) and larger.error == pytest.approx(20.0)
    for k, finding in enumerate(exposed, start=1):
        assert finding.error > 0.05
        # No farther than the triangle inequality allows, whichever way the error goes
        for sense in (1.0, 0.0, -1.0):
            assert plies(stress + sense * away).findings[k].demand <= finding.demand + 1e-12


def test_an_error_beside_a_stress_of_the_other_sign_is_no_more_than_the_demand():
    away = np.zeros((2, 3, 3, 3))
    away[..., 0] = 14.0
    acrylic = LIBRARY["carbon-acrylic"]
    pressed = np.full((2, 3, 3, 3), -10.0)
    findings = judge_plies(
        SPOT, pressed, (0, 0, 0), acrylic, FACTORS, lambda measure: measure(away)
    ).findings
    known = findings[-1]
    assert known.demand == pytest.approx(4.0) and known.error == pytest.approx(4.0)


def test_the_share_of_a_laminate_is_the_worse_of_its_criteria():
    judgement = plies(ply_stress([80.0, -60.0, 20.0]))
    worst = max(check.utilisation for check in judgement.findings)
    assert judgement.shares == pytest.approx([0.0, worst])


def test_a_laminate_with_missing_strengths_has_no_share():
    acrylic = LIBRARY["carbon-acrylic"]
    judgement = plies(ply_stress([80.0, 0.0, 0.0]), acrylic)
    assert np.isnan(judgement.shares).all()


def test_the_factor_of_every_check_is_one_on_the_load():
    stress = ply_stress([120.0, -60.0, 12.0])
    for k, check in enumerate(plies(stress).findings):
        at_failure = plies(check.factor * stress).findings[k]
        assert at_failure.factor == pytest.approx(1.0)
        assert plies(1.5 * stress).findings[k].factor == pytest.approx(check.factor / 1.5)


def test_the_worse_of_tsai_wu_and_tsai_hill_is_named():
    # Strengths that count, hot and wet over 1.20: 465, 315, 439, 292, 41 MPa.
    _, one_way, _ = plies(ply_stress([200.0, -200.0, 0.0])).findings
    # Tsai-Hill: 200²/465² + 200²/315² + 200²/292² = 1.057; Tsai-Wu takes less for the two senses
    assert "Tsai-Hill, the worse of Tsai-Wu 0.949 and Tsai-Hill 1.03 without" in one_way.basis
    assert "hill-1948" in one_way.sources and "tsai-wu-1971" not in one_way.sources
    assert one_way.demand == pytest.approx(np.sqrt(1.057), rel=2e-3)
    _, pressed, _ = plies(ply_stress([-150.0, 0.0, 30.0])).findings
    assert "Tsai-Wu, the worse" in pressed.basis


def test_fibre_and_matrix_are_told_apart():
    # compression along axis 2 with shear: sqrt((150/292)² + (25/40.8)²) = 0.800
    *_, matrix = plies(ply_stress([0.0, -150.0, 25.0])).findings
    assert matrix.topic == "fibre or matrix"
    assert "matrix compression across axis 1 with shear, top of ply 2" in matrix.basis
    assert matrix.demand == pytest.approx(0.800, abs=2e-3)
    *_, fibre = plies(ply_stress([-200.0, 10.0, 5.0])).findings
    assert "fibre compression along axis 1" in fibre.basis
    assert fibre.demand == pytest.approx(200.0 / (518.0 / 1.2 * 0.73))
