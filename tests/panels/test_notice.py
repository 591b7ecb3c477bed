"""What goes wrong in a handler is logged and told; nothing of it reaches the caller."""

import logging

import pytest

from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.prose import html


@pytest.fixture
def notice():
    made = Notice()
    yield made
    made.close()


def refuse(message):
    raise ValueError(message)


def test_it_is_empty_when_all_is_well(notice):
    assert notice.value == ""
    notice.guard(lambda: None)()
    assert notice.value == ""


def test_a_handler_gets_its_arguments(notice):
    got = []
    notice.guard(lambda *args, **keys: got.append((args, keys)))(1, two=2)
    assert got == [((1,), {"two": 2})]


def test_a_refusal_is_told_in_its_own_words_and_logged(notice, caplog):
    with caplog.at_level(logging.WARNING):
        notice.guard(refuse)("heart_rate_bpm is 400; allowed is 30 to 220 /min")
    assert html("heart_rate_bpm is 400; allowed is 30 to 220 /min.") in notice.value
    assert 'role="alert"' in notice.value
    assert "heart_rate_bpm is 400" in caplog.text


@pytest.mark.parametrize("error", [RuntimeError, KeyError, ZeroDivisionError, TypeError])
def test_the_unexpected_is_logged_with_its_trace_and_told_without(notice, caplog, error):
    def fail():
        raise error("deep inside")

    notice.guard(fail)()
    assert "deep inside" not in notice.value
    assert "Something went wrong" in notice.value
    assert "Press Reset, or reload the page." in notice.value
    [record] = [record for record in caplog.records if record.levelno == logging.ERROR]
    assert record.exc_info[0] is error
    assert "fail" in record.getMessage()


def test_a_message_shows_markup_as_text(notice):
    notice.guard(refuse)("<script>alert(1)</script> & more")
    assert "<script>" not in notice.value
    assert "&lt;script&gt;" in notice.value


def test_the_next_success_takes_the_message_away(notice):
    notice.guard(refuse)("no")
    notice.guard(lambda: None)()
    assert notice.value == ""


def test_interrupts_pass(notice):
    def interrupted():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        notice.guard(interrupted)()


def test_a_guarded_handler_keeps_its_name(notice):
    assert notice.guard(refuse).__name__ == "refuse"
