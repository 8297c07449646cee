# SPDX-License-Identifier: MIT
"""What the report says of stance over time: charts, strip, tables, sentences, CSV and screening."""

import csv
import io
import math
from dataclasses import replace

import numpy as np
import pytest
from fake_assessment import assessment
from matplotlib.image import imread

from fea.drawing.picture import PushArrow
from fea.drawing.render import render
from fea.drawing.scene import build_scene
from fea.loadcase.reader import read_load_set
from fea.reporting.evidence import evidence
from fea.reporting.page import build_page
from fea.reporting.step import knee_lines, screening_table, step_csv, step_parts
from fea.reporting.stepfigures import STRIP, over_time, step_charts, step_strip
from fea.reporting.summary import summarise
from fea.screening import Screening
from fea.stance import CaseResult, peaks
from fea.structure.limbmodel import RIGID_FOOT, LimbModel


@pytest.fixture(scope="module")
def result():
    return assessment()


def tables(result):
    return {table.caption[:12]: table for part in step_parts(result) for table in part.tables}


def beside(result):
    """The same assessment with an instant at the time of another one."""
    twin = replace(result.step[1], name="heel held down", utilisation={"calf-shell": 0.97})
    return replace(result, step=(*result.step, twin))


def test_the_peak_table_names_case_and_instant_of_each_zone(result):
    rows = tables(result)["For each zon"].rows
    by_zone = {peak.zone: peak for peak in peaks(result.step)}
    assert len(rows) == len(by_zone) == 3
    for row in rows:
        peak = by_zone[row[0].replace(" ", "-")]
        assert row[3] == peak.case and row[4] == f"{peak.percent:g}"
    assert rows[0][0] == "calf shell"  # the hardest worked zone of the verdict first


def test_two_times_make_no_curve_and_stand_beside_it(result):
    curve, apart = over_time(beside(result).step)
    assert [case.percent for case in curve] == sorted({case.percent for case in result.step})
    assert [case.name for case in apart] == ["heel held down"]
    chart = step_charts(beside(result))[0]
    assert "Beside the curve, “heel held down” (at 12 %) reaches 97 %" in chart.caption
    assert "Beside" not in step_charts(result)[0].caption


def test_a_step_of_which_nothing_was_judged_has_no_chart_of_shares():
    result = assessment()
    bare = replace(result, step=tuple(replace(case, utilisation={}) for case in result.step))
    assert [chart.key for chart in step_charts(bare)] == [
        chart.key for chart in step_charts(result)[1:]]
    last = replace(result.step[0], utilisation={})
    some = replace(result, step=(last, *result.step[1:]))
    assert step_charts(some)[0].key == "step_chart"


def test_moments_say_who_carries_what(result):
    moment = next(chart for chart in step_charts(result) if chart.key == "moment")
    assert "carries the whole throughout" in moment.caption
    assert "exactly what it carries at the ankle" in moment.caption
    unknown = replace(result, step=tuple(replace(case, knee=None) for case in result.step))
    words = next(chart for chart in step_charts(unknown) if chart.key == "moment").caption
    assert "nothing is known of the knee" in words and "takes off" not in words


def test_the_knee_in_sentences_never_counts_the_shin_on_top(result):
    first, *rest = knee_lines(result)
    most = max(case.knee.demand.by_device for case in result.step)
    assert f"at most {most / 1000:.1f} N·m off the knee" in first and "nothing on top" in first
    assert all(line.endswith(".") for line in (first, *rest))
    nobody = replace(result, step=tuple(replace(case, knee=None) for case in result.step))
    (line,) = knee_lines(nobody)
    assert "not known" in line


def test_a_plate_that_is_too_short_is_said_plainly(result):
    late = result.step[-1]
    knee = replace(late.knee, cop_to_unload=1.03)
    heavy = replace(knee, demand=replace(knee.demand, through_ankle=90e3))
    *others, line = knee_lines(
        replace(result, step=(*result.step[:-1], replace(late, knee=heavy)))
    )
    assert sum("no device on this plate can do it" in other for other in others) == 1
    assert "other foot has landed" in line  # at 54 % of the cycle


def test_without_a_step_the_verdict_still_names_what_governs(result):
    empty = replace(result, step=(), step_set=None)
    assert step_charts(empty) == [] and step_strip(empty) is None
    governs = tables(empty)["For each zon"]
    assert [title for title, _ in governs.columns][-1] == "utilisation" and len(governs.rows) == 3
    assert all(len(row) == 3 for row in governs.rows)  # no case has a time
    assert "Step: none is shown." in step_parts(empty)[0].lines
    assert len(step_csv(empty).splitlines()) == 1


def test_loads_that_are_a_step_are_shown_once_and_said_to_be_one(result):
    """As measured gait that is judged: cases and step are the same instants."""
    own = replace(result, cases=result.step, step_limb=RIGID_FOOT,
                  step_set=replace(result.load_set, measured_on=None))
    parts = step_parts(own)
    assert "the loads that are judged" in parts[0].lines[0]
    assert len(parts[0].tables[0].columns) == 4 and len(parts[1].tables) == 1
    assert len(parts[1].tables[0].rows) == len(result.step)
    caption = step_charts(own)[0].caption
    assert "not for the verdict" not in caption and "verdict rests on the same" in caption
    loads = next(part for part in evidence(own) if part.title == "Loads")
    assert sum("push ahead of axis, mm" in str(table.columns) for table in loads.tables) == 1
    calf = replace(own, step_limb=LimbModel(calf_share=0.5))
    assert len(step_parts(calf)[1].tables) == 2  # the step is another one then


def test_cases_of_the_verdict_and_the_step_stand_in_tables_of_their_own(result):
    both = replace(result, cases=tuple(replace(case, knee=result.step[3].knee, percent=None)
                                       for case in result.cases))
    verdict, step = step_parts(both)[1].tables
    assert [row[0] for row in verdict.rows] == [case.name for case in result.cases]
    assert [row[0] for row in step.rows] == [case.name for case in result.step]
    assert "bends on purpose" not in verdict.caption and "bends on purpose" in step.caption
    assert not any("% of the cycle" in line for line in knee_lines(both))


def test_one_case_that_governs_all_is_told_once(result):
    late = result.step[-1]
    knee = replace(late.knee, cop_to_unload=1.03)
    heavy = replace(late, percent=None, knee=replace(
        knee, demand=replace(knee.demand, through_ankle=90e3)))
    lines = knee_lines(replace(result, cases=(heavy,)))
    assert len(lines) == 2 and "".join(lines).count("however strong") == 1


def test_places_are_told_apart_by_as_many_digits_as_it_takes(result):
    late = result.step[-1]
    knee = replace(late.knee, cop_to_unload=0.9341, plate_end=0.9312,
                   demand=replace(late.knee.demand, through_ankle=90e3))
    assert knee.beyond_plate and "at 0.934 of" in knee.statement and "0.931:" in knee.statement
    shown = replace(result, cases=(replace(late, knee=knee),))
    table = step_parts(shown)[1].tables[0]
    assert table.rows[0][8] == "0.934, beyond the plate" and "ends at 0.931" in table.caption


def test_pushes_alone_carry_no_section_on_a_step(result):
    sitting = replace(result, cases=(), step=(), step_set=None, load_set=read_load_set("sitting"))
    first, second = step_parts(sitting)
    assert first.lines == ("Step: none is shown beside postures that are held.",)
    assert "nothing is said of ankle moment and knee" in second.lines[0] and not second.tables
    page = build_page(sitting)
    assert page.step_title == "Case by case"


@pytest.mark.parametrize(
    ("name", "says"),
    [("walking-envelope", "14 cases of the load set"), ("crouch", "6 cases of postures"),
     ("example-laboratory", "gait that was measured"), ("typical-step", "one typical step"),
     ("borrowed-proof", "borrowed from a test")],
)
def test_the_caution_says_on_which_loads_the_verdict_rests(result, name, says):
    judged = replace(result, load_set=read_load_set(name))
    words = [line for line in build_page(judged).cautions if "rests on" in line]
    assert len(words) == 1 and says in words[0]
    assert tuple(summarise(judged).cautions) == build_page(judged).cautions


def test_every_instant_is_a_line_of_the_csv(result):
    rows = list(csv.DictReader(io.StringIO(step_csv(result))))
    assert [row["instant"] for row in rows] == [case.name for case in result.step]
    for row, case in zip(rows, result.step, strict=True):
        assert float(row["carried_by_device_nm"]) == pytest.approx(case.ankle.by_device / 1e3)
        assert float(row["knee_with_device_nm"]) == pytest.approx(case.knee.demand.at_knee / 1e3)
        assert float(row["utilisation calf-shell"]) == case.utilisation["calf-shell"]
    unknown = replace(result, step=(replace(result.step[0], knee=None),))
    (row,) = csv.DictReader(io.StringIO(step_csv(unknown)))
    assert row["knee_with_device_nm"] == row["beyond_plate"] == ""


def test_the_summary_carries_knee_peaks_and_screening(result):
    summary = summarise(result)
    assert [case.knee is None for case in summary.cases] == [True] * len(result.cases)
    knee = summary.step[3].knee
    assert knee.with_device_nm == pytest.approx(result.step[3].knee.demand.at_knee / 1e3)
    assert knee.for_quadriceps_nm == max(knee.with_device_nm, 0.0)
    assert {peak.zone for peak in summary.step_peaks} == {peak.zone for peak in summary.peaks}
    assert [flag.state for flag in summary.screening] == ["unknown"] * 5
    assert summary.step_set.name == "typical-step"


def test_clinical_facts_are_shown_flagged_and_unknown_and_never_judged(result):
    unknown = screening_table(result)
    assert [row[1] for row in unknown.rows] == ["? not known"] * 5 and not unknown.strong
    clinical = Screening(knee_flexion_contracture_deg=15, quadriceps_grade=4)
    told = replace(result, wearer=replace(result.wearer, clinical=clinical))
    rows = {row[0]: row for row in screening_table(told).rows}
    assert "flagged" in rows["knee flexion contracture"][1]
    assert "bohm-2018" in rows["knee flexion contracture"][3]
    assert rows["quadriceps"][1] == "not flagged"
    assert rows["hip extensors"][1] == "? not known"
    assert told.verdict == result.verdict
    assert "bohm-2018" in dict(build_page(told).sources)


def test_the_strip_shows_the_hardest_instant_and_the_push_standing_on_the_floor(result):
    key, picture, _, caption = step_strip(result)
    assert key == "strip" and len(picture.arrows) == STRIP
    assert len(picture.points) == STRIP * len(result.device.mesh.points)
    hardest = max(result.step, key=lambda case: max(case.utilisation.values()))
    assert f"{hardest.percent:g} %" in "".join(arrow.text for arrow in picture.arrows)
    assert "times larger than it is" in caption or "to scale" in caption
    for arrow in picture.arrows:
        assert arrow.tip[2] == pytest.approx(0.0, abs=1e-9)
        case = next(c for c in result.step if arrow.text.startswith(f"{c.percent:g} %"))
        along = np.subtract(arrow.tip, arrow.tail)
        # the ground reaction in the floor frame: turned back by the pitch of the foot
        fx, _, fz = case.force
        sine, cosine = math.sin(case.pitch), math.cos(case.pitch)
        floor = np.array([fx * cosine + fz * sine, case.force[1], fz * cosine - fx * sine])
        assert along / np.linalg.norm(along) == pytest.approx(floor / np.linalg.norm(floor))


def test_time_runs_from_left_to_right_on_either_side(result):
    for side in ("left", "right"):
        seen = replace(result, device=replace(result.device, side=side))
        _, picture, _, _ = step_strip(seen)
        _, camera = build_scene(picture, picture.views[0])
        at = [camera.project(np.array(arrow.tip))[0] for arrow in picture.arrows]
        assert at == sorted(at)


def test_both_painters_draw_the_arrows_where_they_are(result):
    """Arrows are part of the composed page, so that no painter can leave them out."""
    _, picture, _, _ = step_strip(result)
    drawn = render([picture], child="no.such.module")
    assert drawn.painter == "matplotlib"
    plain = render([replace(picture, arrows=())], child="no.such.module")
    with_arrows, without = (imread(io.BytesIO(each.images[0])) for each in (drawn, plain))
    blue = np.array([0x1F, 0x4E, 0x79]) / 255

    def inked(image):
        return int((np.abs(image[..., :3] - blue).max(axis=-1) < 0.05).sum())

    assert inked(with_arrows) > inked(without) + 1000


def test_an_arrow_outside_the_object_is_still_in_the_picture(result):
    _, picture, _, _ = step_strip(result)
    far = PushArrow("far", (0.0, 0.0, -900.0), (0.0, 0.0, 0.0))
    _, camera = build_scene(replace(picture, arrows=(far,)), picture.views[0])
    assert abs(camera.project(np.array(far.tail))[1]) < camera.half_height


def test_a_case_result_is_frozen(result):
    with pytest.raises(AttributeError):
        result.step[0].shin_force = 0.0
    assert isinstance(result.step[0], CaseResult)
