"""The report of a desaturation study: its numbers are the engine's, and it stands on its own."""

import base64
import re
from functools import cache
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.panels.own_study import OwnStudyPanel
from oximetry_workbook.panels.prose import together
from oximetry_workbook.study.accuracy import LIMITS_POINTS
from oximetry_workbook.study.calibration_fit import leave_one_subject_out
from oximetry_workbook.teach import own_study_words as words
from oximetry_workbook.teach.own_study import METERS_OWN, OwnStudy, with_file
from oximetry_workbook.teach.page_study import CURVE, LeftOut, study_page

SETTLED = LeftOut(None, "not asked for")


class Tables(HTMLParser):
    """Tables of a page by caption, as lists of rows; and its elements.

    Attributes:
        tables: Rows of cells by caption.
        tags: Elements with their attributes.
        text: All text outside of the style sheet.
    """

    def __init__(self, page):
        super().__init__()
        self.tables, self.tags, self.text = {}, [], []
        self._rows, self._cell, self._style = [], None, False
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._style = tag == "style"
        if tag == "table":
            self._rows = []
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th", "caption"):
            self._cell = ""

    def handle_endtag(self, tag):
        if tag == "caption":
            self.tables[self._cell] = self._rows
        elif tag in ("td", "th"):
            self._rows[-1].append(self._cell)
        self._style = self._style and tag != "style"

    def handle_data(self, data):
        if self._cell is not None:
            self._cell += data
        if not self._style:
            self.text.append(data)


def read(page):
    return Tables(page.html())


def table(read_page, start):
    (found,) = [rows for caption, rows in read_page.tables.items() if caption.startswith(start)]
    return found


def number(cell):
    return float(cell.replace("−", "-"))


def with_groups(study):
    pairs = study.pairs.table
    people = pd.factorize(pairs["subject"])[0]
    text = pairs.assign(group=np.where(people % 2 == 0, "even", "odd")).to_csv(index=False)
    return with_file(study, text.encode())


@pytest.fixture(scope="module")
def grouped():
    return with_groups(OwnStudy(subjects=8, form="rational"))


def last_of(slices):
    *_, (share, page) = slices
    assert share == 1.0
    return page


def test_agreement_is_the_engines(grouped):
    it = grouped.result.overall
    found = read(study_page(grouped, SETTLED, "pairs.csv", {}))
    rows = table(found, "Reading less blood")[1:]
    names = ("bias", "sd", "a_rms", "lower_limit", "upper_limit")
    for (_, value, interval), name in zip(rows, names, strict=True):
        assert number(value) == pytest.approx(getattr(it, name), abs=0.0051)
        ends = [number(each) for each in interval.split(" to ")]
        assert ends == pytest.approx(it.intervals[name], abs=0.0051)
    # Bland and Altman, Lancet 1986: limits of agreement are the bias ± 1.96 SD
    bias, sd, _, low, high = (number(value) for _, value, _ in rows)
    assert (low, high) == pytest.approx((bias - 1.96 * sd, bias + 1.96 * sd), abs=0.02)


@pytest.mark.parametrize(
    ("caption", "parts"), [("By saturation", "deciles"), ("By group", "groups")]
)
def test_parts_are_the_engines(grouped, caption, parts):
    rows = table(read(study_page(grouped, SETTLED, "pairs.csv", {})), caption)[1:]
    for row, part in zip(rows, getattr(grouped.result, parts), strict=True):
        assert row[:3] == [part.name, str(part.n), str(part.n_subjects)]
        of_part = part.agreement
        figures = [number(each) for each in row[3:6]]
        assert figures == pytest.approx([of_part.bias, of_part.sd, of_part.a_rms], abs=0.0051)


def test_differences_between_groups_are_the_engines(grouped):
    (row,) = table(read(study_page(grouped, SETTLED, "pairs.csv", {})), "Differences")[1:]
    (difference,) = grouped.result.differences
    assert row[0] == "even less odd"
    assert number(row[1]) == pytest.approx(difference.bias, abs=0.0051)
    assert number(row[3]) == pytest.approx(difference.a_rms, abs=0.0051)


@pytest.mark.parametrize("form", ["linear", "quadratic", "rational"])
def test_printed_coefficients_give_the_curve(form):
    """The formula and coefficients that are printed read the band's middle column from its R."""
    found = read(study_page(OwnStudy(subjects=6, form=form), SETTLED, "", {}))
    value = {name: number(each) for name, each, _ in table(found, "Coefficients")[1:]}
    for ratio, percent, low, high in table(found, "95 % band")[1:]:
        r = number(ratio)
        above = sum(value.get(f"a{k}", 0.0) * r**k for k in range(3))
        # R is printed to a thousandth, and some 40 points go with 1 of R
        assert above / (1.0 + value.get("b1", 0.0) * r) == pytest.approx(number(percent), abs=0.05)
        assert number(low) < number(percent) < number(high)


def test_what_is_asked_stands_beside_what_is_here(grouped):
    found = read(study_page(grouped, SETTLED, "pairs.csv", {}))
    rows = table(found, "A_rms in points")[1:]
    it = grouped.result.overall
    assert [row[1] for row in rows[:3]] == [
        f"{each:.1f} at most" for each in LIMITS_POINTS.values()
    ]
    assert all(row[2].startswith(f"{it.a_rms:.2f} (") for row in rows[:3])
    # FDA guidance of 4 March 2013, docket FDA-2007-D-0205
    assert rows[3][1:] == ["10 at least", str(it.n_subjects)]
    assert rows[4][1:] == ["200 at least", str(it.n)]


def test_what_was_left_out_is_told():
    text = OwnStudy(subjects=4).pairs.table.to_csv(index=False) + "9,,0.8,90\n9,90,,\n"
    found = read(study_page(with_file(OwnStudy(), text.encode()), SETTLED, "pairs.csv", {}))
    told = " ".join(found.text)
    assert "Left out for want of sao2_percent: 1 row" in told
    assert "Left out for want of ratio and spo2_percent: 1 row" in told
    assert "pairs.csv" in told


def test_invented_volunteers_are_called_invented():
    page = study_page(OwnStudy(subjects=4), SETTLED, "", {})
    assert "invented" in page.title
    assert "invented" in page.caution
    own = study_page(with_groups(OwnStudy(subjects=4)), SETTLED, "pairs.csv", {})
    assert "invented" not in own.title + own.subtitle + own.caution
    assert all(words.NOT_SKIN not in each.html(str) for each in own.sections)


def test_the_meters_own_readings_need_no_curve():
    text = OwnStudy(subjects=4).pairs.table.drop(columns="ratio").to_csv(index=False)
    study = with_file(OwnStudy(subjects=4), text.encode())
    assert study.judged == METERS_OWN
    found = read(study_page(study, SETTLED, "pairs.csv", {}))
    assert not any(caption.startswith("Coefficients") for caption in found.tables)
    assert "no curve to fit" in " ".join(found.text)


NAMES = st.text(
    alphabet=st.characters(min_codepoint=33, exclude_categories=["Cs", "Cc", "Z"]),
    min_size=1,
    max_size=12,
) | st.sampled_from(["<script>alert(1)</script>", "'\"><b>", "&lt;", "</td></table>"])


@cache
def page_with(person, group, file):
    named = pd.DataFrame(
        {
            "subject": [f"{person}{k % 4}" for k in range(24)],
            "group": [f"{group}{k % 2}" for k in range(24)],
            "sao2": np.linspace(70.0, 99.0, 24),
            "spo2": np.linspace(71.0, 98.0, 24),
        }
    )
    study = with_file(few_people(), named.to_csv(index=False).encode())
    return read(study_page(study, SETTLED, file, {}))


@cache
def few_people():
    return OwnStudy(subjects=4)


@settings(max_examples=15)
@given(NAMES, NAMES, NAMES)
def test_names_of_people_groups_and_files_stay_text(person, group, file):
    """The page has the elements it has with plain names."""
    found = page_with(person, group, file)
    assert found.tags == page_with("a", "b", "c.csv").tags
    assert [row[0] for row in table(found, "By group")[1:]] == [f"{group}0", f"{group}1"]
    assert {row[0] for row in table(found, "By subject")[1:]} == {f"{person}{k}" for k in range(4)}
    assert ["File", file] in table(found, "How this report was made")


@pytest.fixture
def panel(wire):
    return OwnStudyPanel()


def test_the_whole_report_stands_on_its_own(panel):
    page = last_of(panel.report())
    found = Tables(page)
    assert sum(tag == "figure" for tag, _ in found.tags) == 6
    for tag, attrs in found.tags:
        assert tag not in {"script", "link", "iframe", "img", "object", "image"}
        for name in ("src", "href", "xlink:href"):
            assert attrs.get(name, "#").startswith("#")
    assert not re.search(r"url\((?!#)", page)
    names = [attrs["id"] for _, attrs in found.tags if "id" in attrs]
    assert len(names) == len(set(names))
    called = set(re.findall(r'(?:href="#|url\(#)([^")]+)', page))
    assert called <= set(names)
    alts = [attrs["aria-label"] for _, attrs in found.tags if attrs.get("role") == "img"
            and "tabindex" in attrs]  # fmt: skip
    assert len(alts) == 6
    assert all(len(each) > 40 for each in alts)


def test_leaving_subjects_out_is_in_the_report(panel):
    study = panel.model.state
    expected = leave_one_subject_out(study.fitted_pairs, study.form).a_rms
    rows = dict(row for row in table(Tables(last_of(panel.report())), "Blood from")[1:])
    (value,) = [each for name, each in rows.items() if "left out" in name]
    assert float(value) == pytest.approx(expected, abs=0.0051)


def test_people_who_cannot_be_left_out_do_not_end_the_report(panel):
    text = "subject,sao2,ratio\na,95,0.6\na,85,0.9\na,75,1.3\na,72,1.4\nb,90,0.8\nb,80,1.1\n"
    panel.model.set("form", "linear")
    panel.read("few.csv", text.encode())
    said = " ".join(Tables(last_of(panel.report())).text)
    assert "Leaving each subject out gave no figure" in said


def test_the_button_offers_the_report(panel):
    button = panel.data.report
    button.work.button.click()
    assert panel.notice.value == ""
    assert not button.work.running
    (content,) = re.findall(r'base64,([^"]*)"', button.link.value)
    assert 'href="data:text/html;base64,' in button.link.value
    page = base64.b64decode(content).decode()
    assert page.startswith("<!DOCTYPE html>")
    it = panel.model.state.result.overall
    assert table(Tables(page), "Reading less blood")[3][1] == f"{it.a_rms:.2f}"
    panel.model.set("seed", 2)
    assert button.link.value == ""


def test_pictures_stand_under_their_headings(panel):
    page = last_of(panel.report())
    start = page.index(f"<h2>{CURVE}</h2>")
    section = page[start : page.index("</section>", start)]
    assert section.count("<figure>") == 1
    caption = re.search(r"<figcaption>(.*?)</figcaption>", section, re.DOTALL)[1]
    assert caption == together(words.curve_sentence(panel.model.state))


def test_errors_are_counted_once_each(panel):
    *_, histogram, _, _ = panel.views
    it = panel.model.state.result.overall
    heights = histogram.counts.y[1:-1:2]
    np.testing.assert_array_equal(heights, histogram.counts.y[2:-1:2])
    assert heights.sum() == it.n
    assert [line.x[0] for line in histogram.limits] == [it.lower_limit, it.upper_limit]
    width = histogram.counts.x[2] - histogram.counts.x[0]
    # a density holds all errors: the sum of the normal curve over bins is their number
    step = histogram.normal.x[1] - histogram.normal.x[0]
    assert histogram.normal.y.sum() * step / width == pytest.approx(it.n, rel=0.01)
