# SPDX-License-Identifier: MIT
"""Sweeps: a row a design, the same however and wherever it was made, failures included."""

import pickle
import subprocess
import sys
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import pytest
from sweep_plans import ANKLE, BASE, MODULUS, QUICK, THREE, counting, plan_of

import fea
from fea.device.changefile import Change
from fea.errors import InputError, SolveError
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.provenance import fingerprint
from fea.solver.system import System
from fea.study import sweepwork
from fea.study.parameter import Design
from fea.study.sweep import Sweep
from fea.study.sweepplan import Plan
from fea.study.sweeprow import _check
from fea.study.sweepwork import Here, Task, judge_design, judged

STRIP = Change.model_validate({
    "title": "Strip up the medial upright",
    "overlays": [{"name": "strip", "zones": ["upright medial"], "face": "outer", "width_mm": 25.0,
                  "material": "polypropylene-homopolymer", "thickness_mm": 3.0}],
})  # fmt: skip


def found(row):
    """What a row says of the design; not how long it took."""
    return {name: cell for name, cell in row.items() if name != "seconds"}


@pytest.fixture(scope="module")
def three():
    return fea.sweep(THREE, workers=1)


def test_a_row_a_design_in_the_order_of_the_plan_and_failures_with_their_reason(three):
    assert [(row["design"], row[ANKLE], row["state"]) for row in three.rows] == [
        (1, 6.0, "judged"), (2, 20.0, "failed"), (3, 7.0, "judged")]
    assert "would cut into the limb" in three.rows[1]["reason"]
    assert three.rows[2]["mass_g"] > three.rows[0]["mass_g"]
    assert "1 not judged" in str(three) and "cut into the limb" in str(three)


def test_a_row_says_what_the_assessment_says(three):
    design = BASE.changed({ANKLE: 7.0})
    result = fea.assess(design.device, design.wearer, loads=design.loads, fall=None, step=None,
                        size=20.0)  # fmt: skip
    row, worst = three.rows[2], result.checks[0]
    assert row["verdict"] == result.verdict
    assert row["mass_g"] == 1000.0 * result.device_mass_kg
    assert row["skin_pressure_kpa"] == pytest.approx(
        1e3 * max(band.hardest.mean for band in result.skin.bands), rel=1e-6)
    assert row["shin_force_n"] == pytest.approx(max(c.shin_force for c in result.cases), rel=1e-6)
    yields = next(check for check in result.checks if check.horizon == "today" and check.error)
    assert _check("one", yields)["one_error_share"] == yields.error / yields.demand
    assert (row["governing_topic"], row["governing_zone"]) == (worst.topic, worst.zone)
    assert row["governing_factor"] == pytest.approx(worst.factor, rel=1e-6)
    assert row["governing_reserve"] == pytest.approx(1.0 / worst.utilisation, rel=1e-6)
    for topic in {check.topic for check in result.checks}:
        share = max(check.utilisation for check in result.checks if check.topic == topic)
        assert row[f"utilisation {topic}"] == pytest.approx(share, rel=1e-6)
    assert row["today_state"] in ("met", "not met", "not fully checked")
    assert (row["first_fall_state"], row["first_fall_factor"]) == ("not checked", None)
    turned = max(result.cases, key=lambda case: abs(case.ankle_rotation))
    assert row["ankle_case"] == turned.name
    n_m_per_rad = row["ankle_stiffness_nm_per_deg"] * 180.0 / 3.141592653589793
    assert n_m_per_rad == pytest.approx(turned.ankle.by_device / turned.ankle_rotation / 1e3,
                                        rel=1e-6)  # fmt: skip


def test_a_mistake_of_the_program_is_a_row_too(monkeypatch):
    def broken(*_, **__):
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(sweepwork, "assess", broken)
    row = judge_design(Task(1, BASE, {}, vars(QUICK)))
    assert row["state"] == "failed"
    assert row["reason"] == "a mistake of this program: ZeroDivisionError: oh"


@pytest.fixture
def counted(monkeypatch):
    """Numbers of the designs that were judged, in their order; none is solved."""
    calls = []
    monkeypatch.setattr(sweepwork, "judge_design", counting(calls))
    return calls


def test_any_standard_executor_serves(counted):
    with ThreadPoolExecutor(2) as pool:
        result = fea.sweep(THREE, executor=pool, workers=2)
    assert [row["design"] for row in result.rows] == [1, 2, 3]


def test_no_more_tasks_are_handed_over_than_asked(counted):
    most = []

    class Slow(Here):
        def submit(self, fn, /, *args):
            open_tasks.append(args[0].number)
            most.append(len(open_tasks))
            future = super().submit(fn, *args)
            open_tasks.pop()
            return future

    open_tasks = []
    tasks = [Task(k, BASE, {}, {}) for k in range(1, 6)]
    assert len(list(judged(Slow(), 1, tasks))) == 5
    assert max(most) == 1


def test_workers_that_die_end_the_sweep_with_what_to_do():
    class Dead(Here):
        def submit(self, fn, /, *args):
            future = Future()
            future.set_exception(MemoryError("killed"))
            return future

    with pytest.raises(SolveError, match="what was finished is kept: go on with fewer workers"):
        list(judged(Dead(), 2, [Task(1, BASE, {}, {})]))


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"address": "tcp://127.0.0.1:1", "workers": 2}, "the scheduler knows its workers"),
        ({"address": "nonsense"}, "'nonsense' is no address of a scheduler"),
        ({"workers": 0}, r"0 workers cannot work; for workers \(--workers\) give 1 or more"),
    ],
)
def test_workers_that_cannot_be_are_refused(given, told):
    with pytest.raises(InputError, match=told):
        fea.sweep(THREE, **given)


UNGUARDED = """
import fea
from fea.study.parameter import Design
from fea.study.sweepplan import How, Plan, grid

base = Design(fea.read_device("ribbed-polypropylene-child"), fea.read_wearer("demo-child"),
              fea.read_load_set("sitting"))
fea.sweep(Plan(base, grid({"wearer.mass_kg": [30.0, 35.0]}), How(size=20.0, fall=None, step=None)),
          %r, workers=2)
"""


def test_a_script_without_its_guard_is_told_so(tmp_path):
    """Each worker runs the script again and says what it lacks; so does who waits for them."""
    script = tmp_path / "script.py"
    script.write_text(UNGUARDED % str(tmp_path / "out"), encoding="utf-8")
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, timeout=120)
    assert done.returncode == 1
    guard = 'put the call under if __name__ == "__main__":'
    assert f"InputError: each worker runs this script again: {guard}" in done.stderr
    last = done.stderr.strip().splitlines()[-1]
    assert "SolveError: the workers failed (BrokenProcessPool" in last
    assert last.endswith(f"In a script, {guard}")


def test_a_plan_that_varies_nothing_is_judged_as_given(counted):
    result = fea.sweep(Plan(BASE, ({},), QUICK), workers=1)
    assert result.varied == () and [row["design"] for row in result.rows] == [1]
    row = {**result.rows[0], "governing_reserve": 1.2, "not_checked": 1}
    row |= {"governing_topic": "yield", "governing_zone": "heel"}
    assert "design 1 (as given), 400 g" in str(replace(result, rows=(row,)))


def test_the_lightest_that_holds_is_named_and_called_no_proof():
    row = {"state": "judged", "verdict": "not fully checked", "not_checked": 3,
           "governing_topic": "yield", "governing_zone": "heel", ANKLE: 6.0}  # fmt: skip
    rows = ({**row, "design": 1, "mass_g": 500.0, "governing_reserve": 1.2},
            {**row, "design": 2, "mass_g": 400.0, "governing_reserve": 1.1},
            {**row, "design": 3, "mass_g": 300.0, "governing_reserve": 0.9})  # fmt: skip
    told = str(Sweep(THREE, rows))
    assert "Lightest of 2" in told and "design 2" in told and "400 g" in told
    assert "3 things were not checked, so this is no proof" in told


def test_the_commonest_reasons_of_failures_are_told():
    rows = [{"design": k, "state": "failed", "reason": f"reason {k % 7}"} for k in range(1, 9)]
    told = str(Sweep(THREE, tuple(rows)))
    assert "Not judged, 2 of them: reason 1" in told
    assert "and 2 other reasons, in the column 'reason'" in told


@pytest.mark.parametrize(
    ("device", "wearer"),
    [
        ("ribbed-polypropylene-child", "demo-child"),
        ("ribbed-polypropylene-child-surface", "demo-child"),
        ("aluminium-bars-adult", "demo-adult"),
    ],
)
def test_every_kind_of_device_can_be_sent_to_a_worker(device, wearer):
    """Fitted there to the same limb it is the same device."""
    design = Design(fea.read_device(device), fea.read_wearer(wearer), BASE.loads, change=STRIP)
    task = Task(1, design, {ANKLE: 7.0}, vars(QUICK))
    sent = pickle.loads(pickle.dumps(task))
    assert fingerprint([sent.base, sent.values]) == fingerprint([task.base, task.values])
    limb = Limb.of(sent.base.wearer)
    one, other = (each.base.device.fit(limb, 20.0) for each in (task, sent))
    assert fingerprint([one]) == fingerprint([other])


def test_an_overlay_is_varied_through_a_sweep():
    base = replace(BASE, change=STRIP)
    plan = plan_of(base=base, **{"overlay.strip.thickness_mm": [2.0, 4.0]})
    thin, thick = fea.sweep(plan, workers=1).rows
    assert (thin["state"], thick["state"]) == ("judged", "judged")
    assert thick["mass_g"] - thin["mass_g"] == pytest.approx(
        1e3 * BASE.library["polypropylene-homopolymer"].elastic.density * 2.0 * strip_area(),
        rel=1e-6)


def strip_area():
    """mm² of the strip as meshed."""
    design = replace(BASE, change=STRIP)
    device = design.device_as_changed().fit(Limb.of(BASE.wearer), 20.0)
    zones = [zone for zone in device.walls if zone.startswith("strip on ")]
    return sum(
        triangle_geometry(device.mesh.points, device.mesh.zone_cells(z))[0].sum() for z in zones
    )


@pytest.mark.slow
def test_processes_give_the_rows_of_one_process(three):
    result = fea.sweep(THREE, workers=2)
    for row, expected in zip(result.rows, three.rows, strict=True):
        same_rows(row, expected)


def same_rows(row, expected, share=1e-6):
    assert found(row).keys() == found(expected).keys()
    for name, cell in found(expected).items():
        if isinstance(cell, float):
            assert row[name] == pytest.approx(cell, rel=share), name
        else:
            assert row[name] == cell, name


@pytest.mark.slow
def test_a_scheduler_with_two_workers_gives_the_rows_of_one_process(three):
    distributed = pytest.importorskip("distributed", reason="extra many (Dask) is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        result = fea.sweep(THREE, address=cluster.scheduler_address)
        with distributed.Client(cluster) as client:
            who = client.run(lambda: None)
    assert len(who) == 2
    for row, expected in zip(result.rows, three.rows, strict=True):
        same_rows(row, expected)


def test_structures_used_again_change_nothing_but_rounding(monkeypatch):
    """Thickness and modulus keep the shape: the same as building each design from nothing."""
    taken, with_sections = [], System.with_sections
    monkeypatch.setattr(
        System, "with_sections",
        lambda self, sections: taken.append(len(sections)) or with_sections(self, sections),
    )  # fmt: skip
    plan = Plan(BASE, ({ANKLE: 6.0, MODULUS: 1400.0}, {ANKLE: 6.5, MODULUS: 1500.0}), QUICK)
    again = fea.sweep(plan, workers=1)
    assert len(taken) == 3 and min(taken) > 0  # the later design on three models of the limb
    fresh = fea.sweep(plan, workers=1, reuse=False)
    assert len(again.rows) == 2
    for row, expected in zip(again.rows, fresh.rows, strict=True):
        same_rows(row, expected)
