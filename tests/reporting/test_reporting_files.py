# SPDX-License-Identifier: MIT
"""Files for programs: documented schema, complete CSV, every case in the fields, all or none."""

import csv
import io
import json
import math
import os
from dataclasses import replace

import meshio
import numpy as np
import pytest
from fake_assessment import assessment
from fake_assessment import drawn as shared_figures

from fea.check.buckling import Buckle
from fea.check.requirements import GIVEN, Origin
from fea.errors import FileError
from fea.reporting import report, writing
from fea.reporting.fields import save_fields
from fea.reporting.page import build_page
from fea.reporting.pdf import can_write_pdf
from fea.reporting.summary import Summary, summarise, summary_json
from fea.reporting.summarycsv import summary_csv


@pytest.fixture(scope="module")
def result():
    return assessment(1.21)


def test_the_summary_keeps_its_schema_and_its_numbers(result):
    text = summary_json(result)
    read = Summary.model_validate_json(text)
    assert read.schema_version == "1.7"
    assert read.verdict == "not met"
    assert [check.met for check in read.checks] == [False, True, True]
    assert read.checks[0].utilisation == result.checks[0].utilisation
    assert json.loads(text)["provenance"]["versions"]["stanchion"] == "0.1.0"
    # Of the checks; of the estimated measures of a child; of the load set walking-envelope; of the
    # life that is asked for; of where not to drill.
    assert set(read.sources) == {
        "mpe-1999", "practice", "snyder-1977", "ansur-ii-2012", "schwartz-2008", "winter-2009",
        "assumed", "handbook-memory", "winberg-2014", "kirsch-1898"}


def test_the_summary_answers_each_question_and_tells_the_bench(result):
    data = json.loads(summary_json(result))
    assert [(one["horizon"], one["state"]) for one in data["outlooks"]] == [
        ("today", "not met"), ("first fall", "not checked"), ("service life", "not checked")]
    worst = data["governing"][0]
    assert (worst["zone"], worst["met"], len(data["governing"])) == ("calf-shell", False, 3)
    assert "of the ankle" in worst["place"]
    point = data["bench_work"]["measure"][0]
    assert (point["zone"], point["wall_mm"], point["least_wall_mm"]) == ("calf-shell", 4.0, 4.9)
    assert data["requirements"]["months"] == result.requirements.service.months
    assert {check["horizon"] for check in data["checks"]} == {"today"}


def test_a_summary_with_an_unknown_key_is_refused(result):
    data = json.loads(summary_json(result)) | {"colour": "red"}
    with pytest.raises(ValueError, match="colour"):
        Summary.model_validate(data)


def test_the_published_schema_is_the_one_in_use(root):
    """Remake it with `python -m fea.reporting.schema` after a change, and raise the version."""
    published = json.loads((root / "reports/summary-schema.json").read_text(encoding="utf-8"))
    assert published == Summary.model_json_schema()


def test_numbers_that_json_cannot_hold_become_null(result):
    none = replace(result.checks[0], demand=0.0, error=0.0)
    odd = replace(result, checks=(none,), provenance={"growth": float("nan"), "n": np.int64(3)})
    data = json.loads(summary_json(odd))
    assert data["checks"][0]["factor"] is None
    assert data["provenance"] == {"growth": None, "n": 3}


def test_the_csv_counts_what_was_not_checked(result):
    rows = list(csv.DictReader(io.StringIO(summary_csv(result))))
    states = ["not met", "met", "met", "not checked"]
    assert [row["state"] for row in rows] == [*states, *["reading"] * 9]  # pads are no verdict
    assert [row["horizon"] for row in rows[:4]] == ["today", "today", "today", "every"]
    assert float(rows[0]["demand"]) == result.checks[0].demand
    assert float(rows[0]["error"]) == result.checks[0].error == 1.25
    assert rows[1]["error"] == "" and result.checks[1].error is None
    assert "100 000 cycles" in rows[3]["note"]


def test_an_error_that_is_not_estimated_is_null_empty_and_a_dash(result):
    data = json.loads(summary_json(result))
    assert [check["error"] for check in data["checks"]] == [1.25, None, None]
    nought = replace(result, checks=(replace(result.checks[0], error=0.0), *result.checks[1:]))
    assert json.loads(summary_json(nought))["checks"][0]["error"] == 0.0
    cells = {row[0]: row[3] for row in build_page(nought, "").checks[0].rows}
    assert list(cells.values()).count("–") == 2


def test_the_fields_hold_every_case_and_every_cell(result, tmp_path):
    save_fields(tmp_path / "fields.vtu", result)
    read = meshio.read(tmp_path / "fields.vtu")
    for case in (*result.cases, *result.step):
        moved = read.point_data[f"displacement_mm [{case.name}]"]
        assert moved == pytest.approx(
            ({**result.run.solutions, **result.run.step})[case.name].displacement[:, :3])
    triangles = [block.type for block in read.cells].index("triangle")
    assert np.allclose(read.cell_data["utilisation"][triangles], result.cell_utilisation)
    # Uniform stress of 3 MPa in all components: sqrt(9 - 9 + 9 + 27) = 6 MPa at the top.
    means = read.cell_data["mises_cell_mean_top_mpa [cop-1]"][triangles]
    assert np.allclose(means, 6.0)
    # Recovered at the corners up to 1.2 times that, at the top; -0.8 times that at the bottom.
    for layer, peak in (("top", 7.2), ("middle", 0.72), ("bottom", 0.8 * 7.2)):
        found = read.cell_data[f"mises_corner_max_{layer}_mpa [cop-1]"][triangles]
        assert np.allclose(found, peak)
    assert np.allclose(read.cell_data["mises_corner_max_error_mpa [cop-1]"][triangles], 0.5)
    assert not np.any(read.cell_data["left_out"][triangles])
    assert sorted(set(np.concatenate(read.cell_data["zone"]))) == [1, 2, 3]


@pytest.fixture(scope="module")
def figures():
    return shared_figures(1.21)


@pytest.fixture
def drawn(figures, monkeypatch):
    """Pictures that were drawn already, and no PDF."""
    monkeypatch.setattr(writing, "draw_figures", lambda *_: figures)
    monkeypatch.setattr(writing, "can_write_pdf", lambda: False)


@pytest.mark.usefixtures("drawn")
def test_a_report_is_five_files_and_nothing_else_and_says_how_to_get_the_sixth(result, tmp_path):
    paths = report(result, tmp_path / "a" / "b")
    made = sorted(path.name for path in (tmp_path / "a" / "b").iterdir())
    assert made == ["fields.vtu", "report.html", "step.csv", "summary.csv", "summary.json"]
    html = paths.html.read_text(encoding="utf-8")
    assert html.startswith("<!DOCTYPE html>") and paths.pdf is None
    assert "pip install &#34;stanchion[pdf]&#34;" in html


def test_the_pdf_lies_beside_the_page_and_never_outlives_its_report(
    result, figures, tmp_path, monkeypatch
):
    monkeypatch.setattr(writing, "draw_figures", lambda *_: figures)
    monkeypatch.setattr(writing, "can_write_pdf", lambda: True)
    monkeypatch.setattr(writing, "pdf_bytes", lambda page, figures: b"%PDF-1.7")
    paths = report(result, tmp_path)
    assert paths.pdf == tmp_path / "report.pdf" and paths.pdf.read_bytes() == b"%PDF-1.7"
    assert "stanchion[pdf]" not in paths.html.read_text(encoding="utf-8")
    monkeypatch.setattr(writing, "can_write_pdf", lambda: False)
    assert report(result, tmp_path).pdf is None
    assert not (tmp_path / "report.pdf").exists()  # it was of the former report


@pytest.mark.skipif(not can_write_pdf(), reason="the extra pdf is not installed")
@pytest.mark.parametrize("name", ["李雷", "Leaf \N{SEEDLING}"])
def test_letters_that_the_pdf_lacks_cost_the_pdf_alone(
    result, figures, tmp_path, monkeypatch, name, caplog
):
    monkeypatch.setattr(writing, "draw_figures", lambda *_: figures)
    (tmp_path / "report.pdf").write_bytes(b"former")
    paths = report(replace(result, wearer=replace(result.wearer, name=name)), tmp_path)
    html = paths.html.read_text(encoding="utf-8")
    assert paths.pdf is None and not (tmp_path / "report.pdf").exists()
    assert paths.json.exists() and name in html
    assert "No report.pdf was written; report.html holds all of it." in html
    assert "could not be displayed" in html and "could not be displayed" in caplog.text


@pytest.mark.skipif(not can_write_pdf(), reason="the extra pdf is not installed")
@pytest.mark.parametrize("title", ["", "  "])
def test_a_device_without_a_title_is_headed_by_its_name(
    result, figures, tmp_path, monkeypatch, title
):
    monkeypatch.setattr(writing, "draw_figures", lambda *_: figures)
    untitled = replace(result, device=replace(result.device, title=title))
    paths = report(untitled, tmp_path)
    assert paths.pdf is not None and paths.pdf.read_bytes().startswith(b"%PDF-")
    assert f"<h1>{result.device.name}" in paths.html.read_text(encoding="utf-8")


def test_the_users_own_source_of_what_is_asked_is_cited(result):
    own = "pedometer of the clinic, 14 days"
    service = result.requirements.service
    origins = {"months": Origin(GIVEN, "given", ""), "strides_per_day": Origin(own, "read", "")}
    asked = replace(result.requirements, service=replace(service, origins=origins))
    sources = summarise(replace(result, requirements=asked)).sources
    assert sources[own] == own and GIVEN not in sources


@pytest.mark.usefixtures("drawn")
def test_a_failed_report_leaves_the_former_one_whole(result, tmp_path, monkeypatch):
    (tmp_path / "report.html").write_text("former", encoding="utf-8")

    def broken(*_):
        raise RuntimeError("disk on fire")

    monkeypatch.setattr(writing, "save_fields", broken)
    with pytest.raises(RuntimeError):
        report(result, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]
    assert (tmp_path / "report.html").read_text(encoding="utf-8") == "former"


def test_an_impossible_folder_is_the_users_error(result, tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="choose another folder"):
        report(result, tmp_path / "file" / "out")


@pytest.mark.parametrize("out", ["file", "file/out", "file/a/b", "x" * 300, "new/" + "x" * 300])
def test_a_folder_that_cannot_be_is_refused_and_nothing_is_left(tmp_path, out):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="choose another folder"):
        writing.check_folder(tmp_path / out)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_asking_about_a_folder_does_not_make_it(tmp_path):
    writing.check_folder(tmp_path / "a" / "b")
    writing.check_folder(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("drawn")
def test_a_report_never_removes_its_own_draft(result, tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "STARTED", writing.STARTED + 1e6)  # a clock that runs ahead
    assert report(result, tmp_path).html.exists()


@pytest.mark.usefixtures("drawn")
def test_drafts_of_killed_runs_are_removed_and_nothing_else(result, tmp_path):
    out = tmp_path / "out"
    kept = [out / ".report-running0", out / ".report-mine", out / ".report-foreign0",
            tmp_path / ".report-abcd_123"]
    for folder in (out / ".report-abcd_123", *kept):
        folder.mkdir(parents=True)
        (folder / "report.html").write_text("", encoding="utf-8")
    (out / ".report-foreign0" / "diary.txt").write_text("", encoding="utf-8")
    for folder in (out / ".report-abcd_123", *kept[1:]):
        os.utime(folder, (writing.STARTED - 60.0,) * 2)
    report(result, out)
    assert all(folder.exists() for folder in kept)
    assert not (out / ".report-abcd_123").exists()


def test_buckling_stands_in_summary_and_fields(result, tmp_path):
    bar = Buckle("cop-6", None, True)
    read = Summary.model_validate_json(summary_json(replace(result, buckles=(
        *result.buckles, bar, replace(result.buckles[0], proved=None, slenderness=math.inf)))))
    assert [(item.critical_factor, item.proof) for item in read.buckling] == [
        (6.0, "proved"), (None, "proved"), (6.0, "unproved")]
    assert [item.radius_over_wall for item in read.buckling] == [12.0, None, None]
    save_fields(tmp_path / "fields.vtu", result)
    points = meshio.read(tmp_path / "fields.vtu").point_data
    shape = result.run.modes["cop-7"].shapes[0, :, :3]
    assert points["buckling_shape [cop-7]"] == pytest.approx(shape)
    assert [name for name in points if name.startswith("buckling")] == ["buckling_shape [cop-7]"]
