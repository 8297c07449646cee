# SPDX-License-Identifier: MIT
"""The files of a bench: JSON, CSV and chart say the same, and nothing beyond what is judged."""

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest
from benches import CHILD

import fea
from fea.drawing.benchchart import bench_chart
from fea.errors import FileError
from fea.reporting.benching import BenchSummary, bench_csv, write_bench
from fea.study.benchcurve import N_M_PER_DEG


@pytest.fixture(scope="module")
def result():
    """Torsion ends at 8°; plantarflexion is made to be held by nothing."""
    recipe = fea.read_device("bare-two-upright-polypropylene-child")
    found = fea.bench(recipe, CHILD, rig="clamped-calf", size=18.0, large_from_deg=None)
    loose = replace(found.curves["plantarflexion"], moment=np.empty(0), angle=np.empty(0),
                    because="not judged: nothing holds the dummy")  # fmt: skip
    return replace(found, curves={**found.curves, "plantarflexion": loose})


def test_the_files_are_written_and_agree(result, tmp_path):
    paths = write_bench(result, tmp_path / "new")
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == [
        "bench.csv", "bench.json", "bench.png"]  # fmt: skip
    summary = BenchSummary.model_validate(json.loads(paths.json.read_text(encoding="utf-8")))
    rows = list(csv.DictReader(io.StringIO(paths.csv.read_text(encoding="utf-8"))))
    assert paths.chart.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    for curve in summary.curves:
        points = [row for row in rows if row["direction"] == curve.direction and row["moment_nm"]]
        assert [float(row["angle_deg"]) for row in points] == pytest.approx(curve.angles_deg, 1e-5)
        assert [row["flagged"] == "yes" for row in points] == list(curve.flagged)
    assert summary.published[0].found_nm_per_deg is None  # half of its range is not judged
    assert summary.published[0].beside == "not judged"
    assert "replaces" in summary.cautions[0]


def test_no_file_holds_a_point_beyond_eight_degrees(result):
    rows = list(csv.DictReader(io.StringIO(bench_csv(result))))
    assert max(float(row["angle_deg"]) for row in rows if row["angle_deg"]) <= 8.0 + 1e-6
    said = [row["flagged"] for row in rows if not row["moment_nm"]]
    assert len(said) == 3  # plantarflexion, and torsion to both sides
    assert all("not judged" in words for words in said)


def test_the_text_has_units_source_and_class(result):
    text = str(result).replace("\n", " ")
    assert "stiffness, N·m/deg" in text
    assert "J Prosthet Orthot" in text
    assert "context, no validation" in text
    assert "Here not judged." in text
    value = result.stiffness("dorsiflexion") / N_M_PER_DEG
    assert f"{value:.4g}" in text


def test_the_chart_is_the_same_for_the_same_data(result):
    assert bench_chart(result) == bench_chart(result)


def test_a_folder_that_cannot_be_made_is_an_error_of_ours(result, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FileError, match="cannot be made"):
        write_bench(result, tmp_path / "file")
