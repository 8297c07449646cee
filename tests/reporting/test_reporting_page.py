# SPDX-License-Identifier: MIT
"""The page: well-formed, self-contained, readable without colour and without pictures."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from fake_assessment import assessment, just_over

from fea.check.check import NotChecked
from fea.drawing import render as drawing
from fea.reporting.figures import draw_figures, drawn_times
from fea.reporting.page import build_page, page_html, plainly
from fea.reporting.table import table

VOID = {"meta", "img", "br", "hr", "link", "input"}


class Outline(HTMLParser):
    """Reads a page strictly: tags must close in order; keeps what the tests ask for."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.headings, self.text = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, self.getpos()

    def handle_data(self, data):
        if not {"style", "title"} & set(self.open):
            self.text.append(data)

    def all(self, tag):
        return [attrs for name, attrs in self.tags if name == tag]


def read(html):
    page = Outline()
    page.feed(html)
    page.close()
    assert page.open == []
    return page


@pytest.fixture(scope="module")
def html():
    result = assessment(1.21, not_checked=True)
    result = replace(result, device=replace(result.device, title="A <b>leaf</b> & \"bar\""))
    return page_html(result, draw_figures(result))


@pytest.fixture(scope="module")
def page(html):
    return read(html)


def test_the_page_is_well_formed_and_says_its_language(page):
    assert page.all("html") == [{"lang": "en"}]
    assert len(page.all("main")) == 1


def test_headings_step_down_one_at_a_time(page):
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    steps = zip(page.headings, page.headings[1:], strict=False)
    assert all(later - former <= 1 for former, later in steps)


def test_the_verdict_comes_first_and_in_words(page):
    text = " ".join(" ".join(page.text).split())
    verdict = text.index("Requirements are not met")
    assert text.index("Verdict") < verdict < text.index("Where it works hardest")
    assert verdict < text.index("supports the judgement of licensed clinicians")
    assert text.index("supports the judgement of licensed") < text.index("hardest")


def test_every_picture_has_its_words_and_lies_in_the_page(page):
    images = page.all("img")
    assert len(images) == 10
    for image in images:
        assert len(image["alt"]) > 40
        assert image["src"].startswith(("data:image/png;base64,", "data:image/svg+xml;base64,"))
    assert len(page.all("figcaption")) == len(page.all("figure")) == 10


def test_nothing_is_loaded_from_anywhere(html, page):
    loading = {"src", "srcset", "data", "action", "poster", "background", "formaction"}
    for tag, attrs in page.tags:
        assert tag not in {"script", "iframe", "object", "embed", "link", "form"}
        for name, value in attrs.items():
            if name in loading:
                assert value.startswith("data:"), (tag, name)
            if name == "href":
                assert value.startswith("#")
            assert not name.startswith("on")
    style = re.search(r"<style>(.*?)</style>", html, flags=re.S)[1]
    assert "url(" not in style and "@import" not in style


def test_every_link_inside_the_page_has_its_target(page):
    names = {attrs["id"] for _, attrs in page.tags if "id" in attrs}
    assert {link["href"][1:] for link in page.all("a")} <= names


def test_tables_have_captions_and_header_cells_with_a_scope(page):
    assert len(page.all("caption")) == len(page.all("table")) >= 9
    assert {cell.get("scope") for cell in page.all("th")} == {"col", "row", "rowgroup"}


def test_results_stand_in_words_beside_their_sign(page):
    text = "".join(page.text).replace("\N{NO-BREAK SPACE}", " ")
    assert text.count("✗ NOT MET") == 1
    assert text.count("✓ met") == 2
    assert "no life is known beyond 100 000 cycles" in text


def test_words_of_the_user_cannot_become_markup(html, page):
    assert "<b>leaf" not in html
    assert 'A <b>leaf</b> & "bar"' in "".join(page.text)


def test_a_hair_beyond_the_limit_never_reads_as_the_limit():
    result = just_over(assessment(0.9))
    rows = build_page(result).checks.rows
    assert rows[0][1].endswith("MET") and rows[0][1].startswith("✗")
    assert rows[0][3] == "1.25 MPa" and rows[1][3] == "–"  # the error in the demand
    assert (rows[0][5], rows[0][6], rows[0][7]) == ("1.49", "1.50", "100.1 %")
    assert "factor of 1.49 where 1.50 is required" in plainly(result)[1]


def test_unchecked_requirements_are_counted_beside_the_met_ones():
    lines = plainly(assessment(0.9, not_checked=True))
    assert lines[0] == "3 requirements judged: 3 met. 1 could not be judged."


def test_one_more_failed_check_is_one():
    result = assessment(1.2)
    failed = [replace(result.checks[0], zone=f"zone {k}") for k in range(5)]
    for count, words in ((4, "1 more is not met"), (5, "2 more are not met")):
        lines = plainly(replace(result, checks=tuple(failed[:count])))
        assert lines[-1] == f"{words}; see Checks."


def test_a_check_says_which_cells_it_leaves_out():
    gap = NotChecked(topic="local peak", zone="foot-plate", because="12 of 90 cells are left out")
    details = build_page(replace(assessment(0.9), not_checked=(gap,))).checks.details
    assert [gap.because in detail for detail in details] == [False, False, True]
    assert "Reservations: from memory; 12 of 90 cells are left out." in details[2]


def test_stress_is_read_outside_of_what_is_left_out_and_a_zone_without_any_is_named():
    whole = assessment(0.9)
    gone = whole.zones[0].zone
    rest = replace(whole, zones=tuple(item for item in whole.zones if item.zone != gone))
    for result, marked in ((whole, 0), (rest, 1)):
        (part,) = (part for part in build_page(result, "").evidence if part.title == "Stress")
        caption, rows = part.tables[0].caption, part.tables[0].rows
        assert "outside the places where stress does not converge" in caption
        assert sum("left out as a whole" in str(row) for row in rows) == marked
        assert len(rows) == len(result.device.walls)


def test_the_numbers_of_the_load_set_show_their_sources():
    result = assessment(0.9)
    loads = next(part for part in build_page(result).evidence if part.title == "Loads")
    rows = loads.tables[-1].rows
    shown = {(row[0], row[2].replace("\N{NON-BREAKING HYPHEN}", "-"), row[3]) for row in rows}
    assert {("fz bw", "derived", "schwartz-2008"), ("fy bw", "memory-H", "winter-2009"),
            ("patch half length", "assumed", "assumed")} <= shown
    assert {row[3] for row in rows} <= {key for key, _ in build_page(result).sources}


def test_the_origin_ends_in_one_full_stop_and_no_fatigue_is_promised(page):
    result = assessment(0.9)
    result = replace(result, device=replace(result.device, origin="Invented."))
    assert build_page(result).evidence[-1].lines[0] == "Origin: Invented."
    text = " ".join("".join(page.text).split())
    assert "for charts" in text
    assert "for fatigue" not in text and "and fatigue" not in text


def test_the_page_says_when_pictures_are_plain(monkeypatch):
    monkeypatch.setattr(drawing, "_paint_in_child", _dead)
    result = assessment(0.5, not_checked=False)
    text = "".join(read(page_html(result, draw_figures(result))).text)
    assert "Pictures were drawn without 3-D graphics: it died." in text


def _dead(*_):
    raise drawing._ChildError("it died")


def test_an_unjudged_part_is_named(monkeypatch):
    monkeypatch.setattr(drawing, "_paint_in_child", _dead)
    result = assessment(0.5)
    cells = result.cell_utilisation.copy()
    cells[-100:] = float("nan")
    figures = draw_figures(replace(result, cell_utilisation=cells)).figures
    assert "netted parts are judged by themselves" in figures["hardest"].caption


def test_a_bar_that_works_hardest_gets_the_ring(monkeypatch):
    monkeypatch.setattr(drawing, "_paint_in_child", _dead)
    result = assessment(0.5)
    cases = tuple(replace(case, utilisation={**case.utilisation, "lateral-bar": 1.3})
                  for case in result.cases)
    caption = draw_figures(replace(result, cases=cases)).figures["hardest"].caption
    # 130 %, at the place (0, 45, 100) of the bar's reading.
    assert "highest value, 130 %: 0 mm ahead of the ankle axis, 45 mm to the outer" in caption
    assert "in lateral bar" in caption


def test_a_picture_without_judged_parts_says_so(monkeypatch):
    monkeypatch.setattr(drawing, "_paint_in_child", _dead)
    result = assessment(0.5)
    cases = tuple(replace(case, utilisation={"calf-shell": 0.1}) for case in result.cases)
    nothing = replace(result, cell_utilisation=result.cell_utilisation * float("nan"), cases=cases)
    assert "Nothing in this picture could be judged" in draw_figures(nothing).figures["hardest"].alt


@pytest.mark.parametrize("movement", [1e-6, 0.3, 7.0, 31.9, 400.0])
def test_a_drawn_movement_is_a_round_multiple_and_never_reduced(movement):
    times = drawn_times(movement, 400.0)
    assert times == 1.0 or times * movement <= 0.08 * 400.0
    assert float(f"{times:.2g}") == times


def test_negative_numbers_get_a_true_minus():
    assert table("t", ["a"], [["-3.2"], ["-"], ["cop-7"]]).rows == (("−3.2",), ("-",), ("cop-7",))
