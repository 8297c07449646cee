# SPDX-License-Identifier: MIT
"""The page: well-formed, self-contained, readable without colour and without pictures."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from fake_assessment import assessment, drawn, just_over

from fea.check.check import NotChecked
from fea.check.life import LifeRow
from fea.drawing import render as drawing
from fea.reporting import figures as figures_room
from fea.reporting.figures import draw_figures, drawn_times
from fea.reporting.hardest import hardest_parts, hardest_pictures
from fea.reporting.page import build_page, page_html
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
    return page_html(result, drawn(1.21))


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
    assert len(images) == 16
    for image in images:
        assert len(image["alt"]) > 40
        assert image["src"].startswith(("data:image/png;base64,", "data:image/svg+xml;base64,"))
    assert len(page.all("figcaption")) == len(page.all("figure")) == 16


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
    assert text.count("✗ NOT MET") == 2  # in the table and on its card
    assert text.count("✓ met") == 4
    assert "no life is known beyond 100 000 cycles" in text


def test_words_of_the_user_cannot_become_markup(html, page):
    assert "<b>leaf" not in html
    assert 'A <b>leaf</b> & "bar"' in "".join(page.text)


def test_a_hair_beyond_the_limit_never_reads_as_the_limit():
    result = just_over(assessment(0.9))
    page = build_page(result)
    rows = page.checks[0].rows
    assert rows[0][1].endswith("MET") and rows[0][1].startswith("✗")
    assert rows[0][3] == "1.25 MPa" and rows[1][3] == "–"  # the error in the demand
    assert (rows[0][5], rows[0][6], rows[0][7]) == ("1.49", "1.50", "100.1 %")
    facts = dict(page.governing[0].facts)
    assert facts["Factor"] == "1.49, where 1.50 is required"
    assert "which must be 1.01 times as strong" in page.answers[0].sentence


def test_each_question_has_its_answer_and_its_counts():
    answers = build_page(assessment(0.9, not_checked=True)).answers
    assert [one.state for one in answers] == [
        "holds as far as it was checked", "not checked", "not checked"]
    assert answers[0].counts == "3 requirements judged: 3 met. 1 thing not checked."
    assert answers[1].sentence == "In a first fall nothing was checked."
    assert answers[2].question == "Over the 36 months that it must last"
    assert [one.mark for one in answers] == ["?", "?", "?"]


def test_what_is_not_checked_never_wears_the_sign_of_what_is_met():
    result = assessment(0.9, not_checked=False)
    answers = build_page(result).answers
    assert [one.mark for one in answers] == ["✓", "?", "?"]
    failed = build_page(assessment(1.3)).answers[0]
    assert (failed.mark, failed.state) == ("✗", "does not hold")
    assert failed.counts == "3 requirements judged: 2 met, 1 not met. 1 thing not checked."


def test_the_three_that_govern_say_where_by_how_much_and_on_what_they_rest():
    cards = build_page(assessment(1.21)).governing
    assert [card.heading for card in cards] == [
        "yield, calf shell", "bar stress, lateral bar", "yield, foot plate"][:1] + [
        card.heading for card in cards[1:]]
    assert cards[0].result.endswith("MET")
    assert "of the ankle (" in cards[0].place and "mm above the floor" in cards[0].place
    names = [name for name, _ in cards[0].facts]
    assert names == ["Question", "Load case", "Asked of it", "It can bear", "Factor",
                     "Used of what is allowed", "How it came about"]
    assert {card.doubts for card in cards} == {"", "from memory"}
    assert cards[0].sources == ("mpe-1999", "practice")


def test_checks_of_each_question_have_a_table_of_their_own():
    result = assessment(0.9)
    fall = replace(result.checks[0], topic="break", horizon="first fall", demand=30.0)
    tables = build_page(replace(result, checks=(fall, *result.checks))).checks
    assert [table.caption.split(":")[0] for table in tables] == [
        "Today, under the loads of a day", "In the first fall"]
    assert tables[1].rows[0][0] == "break, calf shell" and tables[1].strong == {0}


def test_the_bench_is_told_what_the_numbers_say(html, page):
    parts = build_page(assessment(1.21)).next_steps
    assert [part.title for part in parts] == [
        "Measure after forming", "Do not drill or trim", "Look at it at each visit"]
    wall, point, assumed, _, needed, used = parts[0].tables[0].rows[0]
    assert (wall, assumed, used) == ("1. calf shell", "4 mm", "121 %")
    assert "mm above the floor (hardest worked)" in point
    assert needed == "4.9 mm, more than assumed"  # 4 × 1.21 = 4.84, rounded up
    assert parts[0].tables[0].strong == {0}
    far = build_page(assessment(1.6)).next_steps[0].tables[0].rows[0]
    assert far[4] == "far more than assumed: change the design"
    assert any("fibres" in line for line in parts[1].lines)
    assert "whitening" in parts[2].tables[0].rows[0][2]


def test_what_is_asked_stands_with_its_standing():
    parts = {part.title: part for part in build_page(assessment(0.9)).evidence}
    asked = parts["Materials, what is asked, and partial factors"].tables[1]
    rows = {row[0]: row for row in asked.rows}
    assert rows["months that it must last"][1] == "36"
    assert rows["numbers from memory"][1] == "allowed"
    assert {row[3] for row in asked.rows} - {"–"} <= {key for key, _ in
                                                      build_page(assessment(0.9)).sources}


def test_a_check_says_which_cells_it_leaves_out():
    gap = NotChecked(topic="local peak", zone="foot-plate", because="12 of 90 cells are left out")
    details = build_page(replace(assessment(0.9), not_checked=(gap,))).checks[0].details
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


@pytest.fixture
def few(monkeypatch):
    """Plain pictures, and without those of the verdict."""
    monkeypatch.setattr(drawing, "_paint_in_child", _dead)
    for name in ("governing_pictures", "step_pictures"):
        monkeypatch.setattr(figures_room, name, lambda *_: [])


@pytest.mark.usefixtures("few")
def test_an_unjudged_part_is_named():
    result = assessment(0.5)
    cells = result.cell_utilisation.copy()
    cells[-100:] = float("nan")
    figures = draw_figures(replace(result, cell_utilisation=cells)).figures
    assert "netted parts are judged by themselves" in figures["hardest-today"].caption


def test_a_bar_that_works_hardest_gets_the_ring():
    result = assessment(0.5)
    bar = replace(result.checks[2], demand=208.0)  # 208 × 1.5 / 240 = 130 %, at (0, 45, 100)
    cases = tuple(replace(case, utilisation={**case.utilisation, "lateral-bar": 1.3})
                  for case in result.cases)
    ((key, picture, _, caption),) = hardest_pictures(
        replace(result, cases=cases, checks=(*result.checks, bar)))
    assert key == "hardest-today" and picture.callouts[0].text == "1: 130 %"
    assert picture.callouts[0].place == (0.0, 45.0, 100.0)
    assert set(picture.line_values) == {1.3}
    assert "1: yield, lateral bar, 130 %, the outer side of the ankle (0 mm ahead of" in caption


def drafts_of(result):
    return {key: picture for key, picture, _, _ in hardest_pictures(result)}


def test_the_question_that_governs_is_drawn_first_and_others_where_they_differ():
    result = assessment(0.9)
    fall = replace(result.checks[0], topic="break", horizon="first fall", demand=30.0)
    life = replace(result.checks[2], topic="life", horizon="service life")
    both = replace(result, checks=(fall, *result.checks, life))
    parts = hardest_parts(both)
    assert [part.title for part in parts] == [
        "In a first fall, which governs the verdict", "Today", "Over its service life"]
    assert drafts_of(both)["hardest-today"].triangle_values is result.cell_utilisation
    same = replace(life, zone="calf-shell", place=fall.place)
    parts = hardest_parts(replace(result, checks=(*result.checks, same)))
    assert [part.title for part in parts] == ["Today, which governs the verdict"]
    assert parts[0].lines == (
        "The hardest place over its service life is the same: life, calf shell, 39 %.",)
    drafts = drafts_of(both)
    assert [part.figures[0] for part in hardest_parts(both)] == list(drafts)
    fallen = drafts["hardest-first-fall"]
    assert [one.place for one in fallen.callouts] == [fall.place]
    assert fallen.triangle_values is None  # the places alone: shares are known of a day only


@pytest.mark.usefixtures("few")
def test_a_picture_without_judged_parts_says_so():
    result = assessment(0.5)
    nothing = replace(result, cell_utilisation=result.cell_utilisation * float("nan"), checks=())
    alt = draw_figures(nothing).figures["hardest-today"].alt
    assert "Nothing in this picture could be judged" in alt


@pytest.mark.parametrize("movement", [1e-6, 0.3, 7.0, 31.9, 400.0])
def test_a_drawn_movement_is_a_round_multiple_and_never_reduced(movement):
    times = drawn_times(movement, 400.0)
    assert times == 1.0 or times * movement <= 0.08 * 400.0
    assert float(f"{times:.2g}") == times


def test_negative_numbers_get_a_true_minus():
    assert table("t", ["a"], [["-3.2"], ["-"], ["cop-7"]]).rows == (("−3.2",), ("-",), ("cop-7",))


def test_life_is_told_in_months_or_in_classes():
    row = LifeRow(
        zone="lateral-bar", cycle="step", place=(0.0, 45.0, 100.0), what="fibre stress",
        first="loading", second="push-off", amplitude=60.0, mean=10.0, asked=1562345.6, factor=1.1,
        required=1.38, state="not outlived", months=7.96, months_middle=40.2)
    wall = replace(row, zone="calf-shell", factor=2.0, state="beyond published life", months=None,
                   months_middle=None)
    (part,) = build_page(replace(assessment(0.9), life=(row, wall))).life
    (shown,) = part.tables
    assert shown.rows[0][1:3] == ("step", "✗ not outlived") and shown.strong == {0}
    assert shown.rows[0][5:] == ("1\N{NO-BREAK SPACE}562\N{NO-BREAK SPACE}346", "1.10", "1.38",
                                 "7.9 months; half 40 months")
    assert shown.rows[1][2] == "? beyond published life" and shown.rows[1][8] == "–"
    assert "between “loading” and “push-off”; outer side of the ankle, " in shown.details[0]
    assert build_page(assessment(0.9)).life == ()


def test_the_style_reaches_the_page_as_written(html):
    style = re.search(r"<style>(.*?)</style>", html, flags=re.S)[1]
    assert '"DejaVu Serif"' in style and "&#34;" not in style
