# SPDX-License-Identifier: MIT
"""The PDF: tagged, in one language, with words for every picture, and the same bytes each time."""

import re
import zlib
from dataclasses import replace

import pytest
from fake_assessment import assessment, drawn

from fea.reporting.page import build_page
from fea.reporting.pdf import can_write_pdf, pdf_bytes, report_data

SHOWN = {"governing-1", "governing-2", "governing-3", "measure", "clear", "watch"}


@pytest.fixture(scope="module")
def result():
    result = assessment(1.21)
    title = 'A #link("x")[leaf] & $x$ "bar" \\ *'
    return replace(result, device=replace(result.device, title=title))


@pytest.fixture(scope="module")
def figures():
    return drawn(1.21)


@pytest.fixture(scope="module")
def made(result, figures):
    if not can_write_pdf():
        pytest.skip("the extra pdf is not installed")
    return pdf_bytes(build_page(result), figures)


def plain(pdf: bytes) -> bytes:
    """The file with all that is packed in it laid open."""
    packed = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, flags=re.S)
    opened = [pdf]
    for part in packed:
        try:
            opened.append(zlib.decompress(part))
        except zlib.error:  # not packed, or a picture of another kind
            continue
    return b"\n".join(opened)


def test_it_is_tagged_and_says_its_language(made):
    text = plain(made)
    assert made.startswith(b"%PDF-")
    assert b"/StructTreeRoot" in text and b"/Marked true" in text
    assert re.search(rb"/Lang ?\(en\)", text)
    assert b"/TH" in text and b"/H1" in text and b"pdfuaid" in text


def test_every_picture_has_its_words(made, figures):
    text = plain(made)
    tagged = text.count(b"/S/Figure") + text.count(b"/S /Figure")
    assert tagged == len(SHOWN)
    assert len(re.findall(rb"/Alt ?\(", made)) >= tagged
    assert figures.figures["governing-1"].alt[:30].encode() in text


def test_two_runs_give_the_same_bytes_however_long_they_took(result, figures, made):
    later = replace(result, provenance={**result.provenance, "seconds": 99.0})
    assert pdf_bytes(build_page(later), figures) == made
    assert b"CreationDate" not in plain(made)


def test_it_holds_the_verdict_in_short_and_nothing_is_pasted(result, figures):
    data = report_data(build_page(result), figures.figures)
    assert data["title"] == result.device.title  # as data, not as markup
    assert data["verdict"]["words"] == "Requirements are not met"
    assert [one["state"] for one in data["answers"]] == [
        "does not hold", "not checked", "not checked"]
    assert len(data["governing"]) == 3
    assert {one["picture"]["file"] for one in data["governing"]} | {
        picture["file"] for part in data["next_steps"] for picture in part["pictures"]
    } == {f"{key}.png" for key in SHOWN}
    assert len(data["not_checked"]["rows"]) == 1
    assert data["cautions"] and data["sources"]
    assert all(row[0] != "seconds" for row in data["provenance"]["rows"])
    for one in (*data["checks"], data["not_checked"], data["provenance"]):
        assert len(one["widths"]) == len(one["headers"]) and min(one["widths"]) > 0


def test_the_page_works_where_nothing_was_left_open(figures):
    result = assessment(0.9, not_checked=False)
    if not can_write_pdf():
        pytest.skip("the extra pdf is not installed")
    page = replace(build_page(result), next_steps=())
    assert pdf_bytes(page, figures).startswith(b"%PDF-")
