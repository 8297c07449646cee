# SPDX-License-Identifier: MIT
"""Sweeps: rows that are the same however they were made, kept through kills, failures included."""

import csv
import json
import os
import pickle
import signal
import subprocess
import sys
import time
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import pytest

import fea
from fea.device.changefile import Change
from fea.errors import FileError, InputError, MissingExtraError, SolveError
from fea.limb import Limb
from fea.mesh.mesh import triangle_geometry
from fea.provenance import fingerprint
from fea.solver.system import System
from fea.study import sweepwork
from fea.study.parameter import Design
from fea.study.sweep import Sweep
from fea.study.sweepplan import How, Plan, grid
from fea.study.sweepstore import CSV, JOURNAL, Journal
from fea.study.sweepwork import Here, Task, judge_design, judged

ANKLE = "device.walls.ankle.sheet_mm"
MODULUS = "material.polypropylene-homopolymer.youngs_modulus_mpa"
QUICK = How(size=20.0, fall=None, step=None)
WALK = fea.read_load_set("walking-envelope")
BASE = Design(
    fea.read_device("ribbed-polypropylene-child"),
    fea.read_wearer("demo-child"),
    replace(WALK, instants=WALK.instants[:1]),
)


def plan_of(how=QUICK, base=BASE, **vary):
    return Plan(base, grid(vary), how, "Test")


STRIP = Change.model_validate({
    "title": "Strip up the medial upright",
    "overlays": [{"name": "strip", "zones": ["upright medial"], "face": "outer", "width_mm": 25.0,
                  "material": "polypropylene-homopolymer", "thickness_mm": 3.0}],
})  # fmt: skip
THREE = plan_of(**{ANKLE: [6.0, 20.0, 7.0]})  # 20 mm would cut into the limb


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


# ---------------------------------------------------------------- kept, and gone on with


@pytest.fixture
def counted(monkeypatch):
    """Designs are not solved but counted; the second one fails."""
    calls = []

    def quick(task):
        calls.append(task.number)
        if task.number == 2:
            return {"design": 2, "state": "failed", "reason": "no", "seconds": 0.0}
        return {"design": task.number, "state": "judged", "verdict": "not met", "mass_g": 400.0,
                "governing_reserve": 0.5, "utilisation yield": 2.0, "seconds": 0.0}  # fmt: skip

    monkeypatch.setattr(sweepwork, "judge_design", quick)
    return calls


def test_finished_rows_are_kept_and_not_repeated(counted, tmp_path):
    class StoppedError(Exception):
        pass

    def stop(message):
        if message.startswith("2 of"):
            raise StoppedError

    with pytest.raises(StoppedError):
        fea.sweep(THREE, tmp_path, workers=1, progress=stop)
    assert not (tmp_path / CSV).exists()
    result = fea.sweep(THREE, tmp_path, workers=1)
    assert counted == [1, 2, 3]
    assert result.kept == 2
    with (tmp_path / CSV).open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["design"] for row in rows] == ["1", "2", "3"]
    assert rows[1]["reason"] == "no" and rows[1]["mass_g"] == ""
    assert list(rows[0])[:2] == ["design", ANKLE]


def test_a_finished_sweep_judges_nothing_and_makes_its_table_again(counted, tmp_path):
    first = fea.sweep(THREE, tmp_path, workers=1)
    (tmp_path / CSV).unlink()
    again = fea.sweep(THREE, tmp_path, workers=1)
    assert again.rows == first.rows and again.kept == 3 and len(counted) == 3
    assert (tmp_path / CSV).is_file()


def test_half_a_line_is_dropped(counted, tmp_path):
    fea.sweep(THREE, tmp_path, workers=1)
    journal = tmp_path / JOURNAL
    journal.write_bytes(journal.read_bytes()[:-20])
    result = fea.sweep(THREE, tmp_path, workers=1)
    assert counted == [1, 2, 3, 3] and result.kept == 2
    assert [json.loads(line).get("design") for line in journal.read_text().splitlines()] == [
        None, 1, 2, 3]


def test_half_a_head_is_no_other_plan(counted, tmp_path):
    (tmp_path / JOURNAL).write_text('{"kind": "stanchion sw', encoding="utf-8")
    assert len(fea.sweep(THREE, tmp_path, workers=1).rows) == 3


def test_a_plan_that_changed_is_refused_with_the_cure(counted, tmp_path):
    fea.sweep(THREE, tmp_path, workers=1)
    before = (tmp_path / JOURNAL).read_bytes()
    with pytest.raises(InputError, match="holds 3 designs of another plan.*--out.*delete"):
        fea.sweep(plan_of(**{ANKLE: [6.0, 8.0, 7.0]}), tmp_path, workers=1)
    assert (tmp_path / JOURNAL).read_bytes() == before


def test_what_is_no_journal_is_left_alone(tmp_path):
    (tmp_path / JOURNAL).write_text('{"a": 1}\n', encoding="utf-8")
    with pytest.raises(FileError, match="is not the journal of a sweep"):
        fea.sweep(THREE, tmp_path)
    (tmp_path / JOURNAL).write_text("{broken\n", encoding="utf-8")
    with pytest.raises(FileError, match="line 1: cannot be read"):
        fea.sweep(THREE, tmp_path)


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="choose another folder"):
        fea.sweep(THREE, tmp_path / "file" / "below")


def test_two_sweeps_in_one_folder_are_refused(counted, tmp_path):
    """The first one holds it until it ends."""
    with Journal.open(tmp_path, THREE):
        with pytest.raises(InputError, match="another sweep works in .* now.*--out"):
            fea.sweep(THREE, tmp_path, workers=1)
        assert counted == []
    assert len(fea.sweep(THREE, tmp_path, workers=1).rows) == 3


def test_progress_tells_the_time_that_is_left(counted):
    told = []
    fea.sweep(THREE, workers=1, progress=told.append)
    assert told[0].startswith("1 of 3 designs, about ") and told[0].endswith(" left")
    assert told[2] == "3 of 3 designs, 1 not judged"


# ---------------------------------------------------------------- workers


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


def test_address_and_number_of_workers_exclude_each_other():
    with pytest.raises(InputError, match="the scheduler knows its workers"):
        fea.sweep(THREE, address="tcp://127.0.0.1:1", workers=2)


def test_missing_extras_are_named(monkeypatch, tmp_path):
    for name in ("pandas", "distributed"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(MissingExtraError, match=r"stanchion\[tables\]"):
        fea.sweep(THREE, tmp_path, parquet=True)
    with pytest.raises(MissingExtraError, match=r"stanchion\[many\]"):
        fea.sweep(THREE, address="tcp://127.0.0.1:1")
    assert list(tmp_path.iterdir()) == []


def test_parquet_holds_what_the_csv_holds(counted, tmp_path):
    pandas = pytest.importorskip("pandas", reason="extra tables")
    pytest.importorskip("pyarrow", reason="extra tables")
    result = fea.sweep(THREE, tmp_path, workers=1, parquet=True)
    frame = pandas.read_parquet(tmp_path / "sweep.parquet")
    assert list(frame.columns) == list(result.columns)
    assert frame[ANKLE].tolist() == [6.0, 20.0, 7.0]
    assert frame["mass_g"].isna().tolist() == [False, True, False]
    assert result.frame().shape == frame.shape


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


KILLED = """
import sys, time
import fea
from fea.study import sweepwork
from fea.study.sweepfile import read_plan

def slow(task):
    if task.number == 3:
        time.sleep(60)
    return {{"design": task.number, "state": "judged", "verdict": "met", "mass_g": 100.0,
            "seconds": 0.0}}

sweepwork.judge_design = slow
fea.sweep({plan!r}, {out!r}, workers=1)
"""


def test_a_process_that_is_killed_loses_nothing_that_was_finished(counted, tmp_path):
    path, out = tmp_path / "plan.toml", tmp_path / "out"
    path.write_text('device = "ribbed-polypropylene-child"\nwearer = "demo-child"\n'
                    f'[vary]\n"{ANKLE}" = [5.0, 6.0, 7.0]\n', encoding="utf-8")  # fmt: skip
    code = KILLED.format(plan=str(path), out=str(out))
    process = subprocess.Popen([sys.executable, "-c", code])
    try:
        for _ in range(600):
            time.sleep(0.1)
            if (out / JOURNAL).exists() and len((out / JOURNAL).read_text().splitlines()) == 3:
                break
    finally:
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    result = fea.sweep(path, out, workers=1)
    assert counted == [3] and result.kept == 2
    assert [row["design"] for row in result.rows] == [1, 2, 3]


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
    plan = plan_of(**{ANKLE: [6.0, 6.5], MODULUS: [1400.0, 1500.0]})
    again = fea.sweep(plan, workers=1)
    assert len(taken) == 9 and min(taken) > 0  # three later designs on three models of the limb
    fresh = fea.sweep(plan, workers=1, reuse=False)
    assert len(again.rows) == 4
    for row, expected in zip(again.rows, fresh.rows, strict=True):
        same_rows(row, expected)
