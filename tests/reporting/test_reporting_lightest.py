# SPDX-License-Identifier: MIT
"""The lightest in files: the change, and the map of where to thin."""

from types import SimpleNamespace

import numpy as np
import pytest

import fea
from fea.errors import FileError
from fea.reporting.lightening import write_lightest
from fea.reporting.thinmap import thin_map


@pytest.fixture(scope="module")
def found():
    result = fea.assess(fea.read_device("bare-two-upright-polypropylene-child"),
                        fea.read_wearer("demo-child"), fall=None, step=None, size=20.0)  # fmt: skip
    return fea.gradient(result)


LAYOUT = SimpleNamespace(values={"device.walls.ankle.sheet_mm": 5.0}, sentence="It holds.")


def test_the_map_shows_what_each_cell_is_worth(found):
    key, picture, alt, caption = thin_map(found)
    assert key == "thin" and picture.scale.low == 0.0 < picture.scale.high
    assert np.array_equal(picture.triangle_values,
                          100.0 * found.cells_per_gram(found.gradients[0]))  # fmt: skip
    assert found.gradients[0].check.topic in caption and caption.split(".")[0] in alt


def test_both_files_are_written(found, tmp_path):
    paths = write_lightest(LAYOUT, found, tmp_path / "new")
    assert paths.map.read_bytes()[:4] == b"\x89PNG"
    assert fea.read_change(paths.change).values == {"walls.ankle.sheet_mm": 5.0}
    assert paths.caption


def test_where_nothing_holds_there_is_no_change(found, tmp_path):
    none = SimpleNamespace(values={}, sentence="None holds.")
    assert write_lightest(none, found, tmp_path).change is None


def test_a_folder_that_cannot_be_made_is_told(found, tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be made"):
        write_lightest(LAYOUT, found, tmp_path / "taken")
