# SPDX-License-Identifier: MIT
"""Where the rows of a sweep are kept: through stops and kills, one sweep a folder, tables."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from types import SimpleNamespace

import pytest
from sweep_plans import ANKLE, THREE, counting, plan_of

import fea
from fea.errors import FileError, InputError, MissingExtraError
from fea.study import sweepwork
from fea.study.sweepstore import CSV, JOURNAL, Journal


@pytest.fixture
def counted(monkeypatch):
    """Numbers of the designs that were judged, in their order; none is solved."""
    calls = []
    monkeypatch.setattr(sweepwork, "judge_design", counting(calls))
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


@pytest.mark.parametrize(
    "foreign",
    [b'{"a": 1}\n', b"{broken\n", b"5\n6\n", b"one line without an end", b'{"a": 1}\nhalf a',
     b"\xff\xfe\x00", b'["stanchion sweep"]\n'],
)  # fmt: skip
def test_what_is_no_journal_is_refused_and_stays_byte_for_byte(tmp_path, foreign):
    journal = tmp_path / JOURNAL
    journal.write_bytes(foreign)
    with pytest.raises(FileError) as caught:
        fea.sweep(THREE, tmp_path)
    (problem,) = caught.value.problems
    assert problem.what == "is not the journal of a sweep; choose another folder (--out)"
    assert journal.read_bytes() == foreign
    assert [path.name for path in tmp_path.iterdir()] == [JOURNAL]


def test_half_a_line_of_another_plan_stays(counted, tmp_path):
    fea.sweep(THREE, tmp_path, workers=1)
    journal = tmp_path / JOURNAL
    journal.write_bytes(journal.read_bytes()[:-20])
    before = journal.read_bytes()
    with pytest.raises(InputError, match="holds 2 designs of another plan"):
        fea.sweep(plan_of(**{ANKLE: [6.0, 8.0, 7.0]}), tmp_path, workers=1)
    assert journal.read_bytes() == before


JUDGED = '"state": "judged", "verdict": "met"'


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (b"5", "cannot be read as a row"),
        (b"\xff\xfe", "cannot be read as a row"),
        (b"", "cannot be read as a row"),
        (b"[" * 100_000, "cannot be read as a row"),
        (b'{"design": 2, "reason": ["no"]}', "cannot be read as a row"),
        (b"{%s}" % JUDGED.encode(), "has no number of a design; the plan has designs 1 to 3"),
        (b'{"design": 4, %s}' % JUDGED.encode(), "has design = 4; the plan has designs 1 to 3"),
        (b'{"design": 0, %s}' % JUDGED.encode(), "has design = 0"),
        (b'{"design": "2", %s}' % JUDGED.encode(), "has design = '2'"),
        (b'{"design": 2}', "does not say what came of the design"),
        (b'{"design": 2, "state": "failed"}', "does not say what came of the design"),
    ],
)
def test_a_damaged_line_is_told_with_its_cure(counted, tmp_path, line, told):
    fea.sweep(THREE, tmp_path, workers=1)
    journal = tmp_path / JOURNAL
    lines = journal.read_bytes().splitlines()
    journal.write_bytes(b"\n".join([*lines[:2], line, *lines[3:]]) + b"\n")
    before = journal.read_bytes()
    with pytest.raises(FileError) as caught:
        fea.sweep(THREE, tmp_path, workers=1)
    assert f"line 3: {told}" in str(caught.value)
    assert "remove the line, and its design is judged again" in str(caught.value)
    assert journal.read_bytes() == before
    journal.write_bytes(b"\n".join([*lines[:2], *lines[3:]]) + b"\n")  # the cure
    assert len(fea.sweep(THREE, tmp_path, workers=1).rows) == 3 and counted == [1, 2, 3, 2]


@pytest.mark.parametrize(
    "given", [{"workers": 0}, {"address": "nonsense"}, {"address": "tcp://127.0.0.1:1"}]
)
def test_workers_that_cannot_be_leave_no_folder(tmp_path, given, monkeypatch):
    class Client:
        def __init__(self, *_, **__):
            raise OSError("nobody there")

    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(Client=Client))
    with pytest.raises(InputError):
        fea.sweep(THREE, tmp_path / "out", **given)
    assert list(tmp_path.iterdir()) == []


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


def test_a_column_of_words_and_numbers_can_be_written_too(counted, tmp_path):
    pandas = pytest.importorskip("pandas", reason="extra tables")
    pytest.importorskip("pyarrow", reason="extra tables")
    fea.sweep(plan_of(**{ANKLE: [6.0, "thick"]}), tmp_path, workers=1, parquet=True)
    frame = pandas.read_parquet(tmp_path / "sweep.parquet")
    assert frame[ANKLE].tolist() == ["6.0", "thick"]


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
