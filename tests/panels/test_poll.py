"""The poll on the page: guesses come in, bars go up, the number stays hidden until revealed."""

import re

import pytest

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.poll import PollView, bars_html
from oximetry_workbook.panels.prose import NO_BREAK_SPACE
from oximetry_workbook.teach.poll import SCALES, Poll


class Kept:
    """A poll view, and the polls it made."""

    def __init__(self, guess="shown"):
        self.notice, self.polls = Notice(), []
        self.view = PollView(self._take, self.notice)
        self.view.show(Poll(guess), None, revealed=False)

    def _take(self, poll):
        self.polls.append(poll)
        self.view.show(poll, 86.0, revealed=False)

    @property
    def drawn(self):
        return "".join(
            child.value for child in self.view.widget.children if hasattr(child, "value")
        )

    @property
    def says(self):
        return self.view.says.value.replace(NO_BREAK_SPACE, " ")


@pytest.fixture
def kept(wire):
    return Kept()


def test_typed_guesses_are_taken_and_the_field_is_free_again(kept, wire):
    wire.hear(kept.view.field, value="92, 95, 97")
    assert kept.polls[-1].typed == (92.0, 95.0, 97.0)
    assert kept.view.field.value == ""
    assert kept.says == "3 guesses; the median guess is 95 %."


def test_a_bad_guess_is_told_and_the_text_stays(kept, wire):
    wire.hear(kept.view.field, value="92, 195")
    assert kept.polls == []
    assert "195 is no possible guess" in kept.notice.value.replace(NO_BREAK_SPACE, " ")
    assert kept.view.field.value == "92, 195"


def test_an_empty_field_is_no_guess(kept, wire):
    wire.hear(kept.view.field, value="  ")
    assert kept.polls == []


def test_taps_count(kept):
    kept.view.more[10].click()
    kept.view.more[10].click()
    kept.view.more[2].click()
    kept.view.fewer[10].click()
    assert kept.polls[-1].counts == (0, 0, 1, *(0,) * 7, 1)


def test_clear_takes_all_away(kept):
    kept.view.more[3].click()
    clear = kept.view.widget.children[0].children[1].children[2]
    clear.click()
    assert kept.polls[-1] == Poll("shown")
    assert kept.says == "No guesses yet."


@pytest.mark.parametrize("guess", SCALES)
def test_each_range_has_its_buttons_and_says_which(wire, guess):
    view = Kept(guess).view
    names = SCALES[guess].names()
    for buttons, words in ((view.more, "One more"), (view.fewer, "One fewer")):
        shown = [each for each in buttons if "ow-folded" not in each._dom_classes]
        assert [each.tooltip for each in shown] == [f"{words}: {name}" for name in names]


def test_the_number_is_not_on_the_page_before_it_is_revealed(kept):
    poll = Poll("shown", typed=(95.0,))
    kept.view.show(poll, 86.0, revealed=False)
    assert "86" not in kept.drawn.replace("85–89", "")
    assert "ow-poll-truth" not in kept.drawn
    kept.view.show(poll, 86.0, revealed=True)
    assert "ow-poll-truth" in kept.drawn
    assert "the meter shows 86 %" in kept.says


def test_bars_are_as_high_as_their_share_of_the_tallest():
    poll = Poll("shown", typed=(95.0, 96.0, 97.0, 98.0, 80.0))
    heights = [float(each) for each in re.findall(r"height:([\d.]+)%", bars_html(poll, None))]
    assert heights == [0.0] * 7 + [25.0, 0.0, 0.0, 100.0]
    assert 'aria-label="Guesses by range. 80–84: 1; 95–100: 4."' in bars_html(poll, None)


def test_the_line_stands_over_the_range_of_the_number():
    # 87 is the middle one of 85 to 89, the ninth of eleven ranges
    found = re.search(r"left:([\d.]+)%", bars_html(Poll("shown"), 87.0))
    assert float(found[1]) == pytest.approx(100.0 * 8.5 / 11, abs=0.01)


def test_a_withheld_number_has_no_line(kept):
    kept.view.show(Poll("shown"), None, revealed=True)
    assert "ow-poll-truth" not in kept.drawn
    assert kept.says.startswith("The meter withholds this number.")


def test_what_was_half_typed_for_one_number_is_not_offered_for_another(kept, wire):
    wire.hear(kept.view.field, value="many")
    kept.view.show(Poll("ratio"), None, revealed=False)
    assert kept.view.field.value == ""
