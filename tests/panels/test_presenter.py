"""The presenter: scenes in their order, covers, polls and the sliders, without a browser."""

import asyncio
import json
import re
from dataclasses import replace

import ipywidgets as widgets
import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels import moving
from oximetry_workbook.panels.keys import COMMANDS, Keys
from oximetry_workbook.panels.lesson_model import LessonModel
from oximetry_workbook.panels.notice import Notice
from oximetry_workbook.panels.presenter import Presenter
from oximetry_workbook.panels.presenter_screen import ANSWER
from oximetry_workbook.panels.presenter_stage import NUMBERS, head_html
from oximetry_workbook.panels.prose import NO_BREAK_SPACE, html
from oximetry_workbook.teach.scene import PARTS, Lesson, Scene
from oximetry_workbook.teach.words import main_sentence

SMOKE = Scenario(carboxyhaemoglobin=0.3)
LESSON = Lesson(
    "Doubt",
    scenes=(
        Scene("Ordinary", spoken="Every day.", shown=("numbers", "pulses"), notes="Ask about it."),
        Scene("Cold", Scenario(vasoconstriction=0.8), covered=("numbers", "pulses")),
        Scene("Smoke", SMOKE, guess="carried", question="How much?", covered=("numbers",)),
        Scene("Words alone", shown=(), minutes=1.0),
    ),
)


@pytest.fixture
def presenter(wire):
    made = Presenter(LessonModel(LESSON), Notice())
    made.open()
    return made


def command(presenter, name):
    presenter.keys._handle_custom_msg({"command": name}, [])


def parts_with(presenter, name):
    parts = presenter.screen.stage.parts
    return [key for key, part in parts.items() if name in part.widget._dom_classes]


def text_of(widget):
    own = getattr(widget, "value", "")
    inside = [text_of(child) for child in getattr(widget, "children", ())]
    return " ".join([own if isinstance(own, str) else "", *inside]).replace(NO_BREAK_SPACE, " ")


def says(presenter):
    return presenter.screen.widgets[-1].value


def go(presenter, place):
    presenter.model.go(place)
    return presenter.screen


# ----- opening and closing


def test_a_closed_presenter_makes_no_plots(wire):
    made = Presenter(LessonModel(LESSON), Notice())
    assert made.screen is None
    assert "ow-folded" in made.widget._dom_classes
    made.model.go(2)
    assert made.screen is None


def test_opening_shows_the_place_where_the_lesson_is(wire):
    made = Presenter(LessonModel(LESSON), Notice())
    made.model.go(2)
    made.open()
    assert made.screen.scene is LESSON.scenes[2]
    assert made.screen.bench.scenario == SMOKE
    assert (made.open_now, made.keys.open_now, made.keys.place) == (True, True, 2)
    assert "ow-folded" not in made.widget._dom_classes


def test_plots_are_made_once(presenter, wire):
    known = {each.comm_id for each in wire.messages}
    for place in (1, 2, 3, 0):
        go(presenter, place)
    presenter.close()
    presenter.open()
    assert {each.comm_id for each in wire.messages} == known


def test_escape_in_the_browser_closes(presenter, wire):
    wire.hear(presenter.keys, open_now=False)
    assert presenter.open_now is False
    assert "ow-folded" in presenter.widget._dom_classes
    command(presenter, "next")  # a key that was on its way
    assert presenter.model.place == 0


def test_the_browsers_part_lies_in_a_box(presenter):
    # the page takes itself for stalled while it shows no ipywidgets of its own
    boxes = [each for each in presenter.widget.children if isinstance(each, widgets.VBox)]
    assert any(presenter.keys in box.children for box in boxes)


def test_the_notice_of_the_page_is_seen_in_the_presenter(presenter):
    assert presenter.notice in presenter.widget.children


# ----- walking


def test_keys_walk_through_the_lesson_and_stop_at_its_ends(presenter):
    places = []
    for name in ("back", "next", "next", "last", "next", "back", "first"):
        command(presenter, name)
        places.append(presenter.model.place)
    assert places == [0, 1, 2, 3, 3, 2, 0]


def test_space_reveals_first_and_then_goes_on(presenter):
    go(presenter, 1)
    command(presenter, "on")
    assert (presenter.model.place, presenter.screen.covered) == (1, ())
    command(presenter, "on")
    assert presenter.model.place == 2


@pytest.mark.parametrize("content", [None, "next", {}, {"command": "_show"}, {"command": ["next"]}])
def test_messages_that_are_no_command_do_nothing(presenter, content):
    presenter.keys._handle_custom_msg(content, [])
    assert presenter.model.place == 0
    assert presenter.notice.value == ""


def test_every_command_can_be_done(presenter):
    for name in COMMANDS:
        command(presenter, name)
        assert presenter.notice.value == ""


def test_browser_and_kernel_know_the_same_commands():
    written = re.search(r"const COMMANDS = (\[.*?\]);", Keys._esm)[1]
    assert tuple(json.loads(written)) == COMMANDS


def test_what_the_keys_are_told(presenter):
    go(presenter, 2)
    keys = presenter.keys
    assert (keys.place, keys.count, keys.covered, keys.polled) == (2, 4, True, True)
    assert (keys.scene_minutes, keys.lesson_minutes) == (2.0, 7.0)
    assert keys.name == "Presenter: Doubt"
    command(presenter, "reveal")
    assert keys.covered is False


def test_a_lesson_changed_meanwhile_is_shown(presenter):
    go(presenter, 3)
    presenter.model.lesson = Lesson("Short", scenes=(Scene("Only one", SMOKE),))
    assert presenter.screen.scene.title == "Only one"
    assert presenter.screen.bench.scenario == SMOKE
    assert (presenter.keys.place, presenter.keys.count) == (0, 1)


# ----- what is on the screen


def test_only_the_parts_of_the_scene_are_there(presenter):
    assert parts_with(presenter, "ow-away") == ["layers", "ratio", "curve"]
    go(presenter, 1)
    assert parts_with(presenter, "ow-away") == []
    go(presenter, 3)
    assert parts_with(presenter, "ow-away") == list(PARTS)


def test_the_stage_knows_how_many_plots_share_it(presenter):
    counts = []
    for place in range(4):
        classes = go(presenter, place).stage.widget._dom_classes
        counts.append([name for name in classes if name.startswith("ow-plots-")])
    assert counts == [["ow-plots-1"], ["ow-plots-4"], ["ow-plots-4"], ["ow-plots-0"]]


def test_title_question_and_place_are_written_and_escaped():
    scene = Scene("A < B", question="R > 1?")
    written = head_html(scene, 1, 3)
    assert "A &lt; B" in written
    assert "R &gt; 1?" in written
    assert "2 of 3" in written
    assert "ow-scene-question" not in head_html(replace(scene, question=""), 1, 3)


def test_the_line_to_say_and_the_notes_follow(presenter):
    shown = text_of(presenter.widget)
    assert "Every day." in shown
    assert "Ask about it." in shown
    go(presenter, 1)
    shown = text_of(presenter.widget)
    assert "Every day." not in shown
    assert "No notes for this scene." in shown


def test_what_is_covered_is_not_drawn_at_all(presenter):
    hidden = main_sentence(LESSON.scenes[1].reading())
    screen = go(presenter, 1)
    assert parts_with(presenter, "ow-covered") == ["numbers", "pulses"]
    assert hidden not in text_of(presenter.widget)
    command(presenter, "reveal")
    assert parts_with(presenter, "ow-covered") == []
    assert hidden in text_of(screen.stage.parts[NUMBERS].widget)


def test_a_cover_that_is_pressed_reveals_its_own_part(presenter):
    screen = go(presenter, 1)
    screen.stage.parts["pulses"].cover.click()
    assert screen.covered == ("numbers",)
    assert parts_with(presenter, "ow-covered") == ["numbers"]
    assert presenter.keys.covered is True


def test_what_was_revealed_stays_so_until_the_presenter_opens_anew(presenter):
    go(presenter, 1)
    command(presenter, "reveal")
    go(presenter, 0)
    assert go(presenter, 1).covered == ()
    presenter.close()
    presenter.open()
    assert presenter.screen.covered == ("numbers", "pulses")


def test_a_screen_reader_hears_title_question_and_sentence_but_nothing_covered(presenter):
    assert html(main_sentence(LESSON.scenes[0].reading())) in says(presenter)
    go(presenter, 2)
    assert "Smoke How much?" in says(presenter)
    assert "68" not in says(presenter)
    command(presenter, "reveal")
    assert html(main_sentence(LESSON.scenes[2].reading())) in says(presenter)


# ----- moving


def test_the_reader_who_asks_for_little_motion_gets_none(presenter, wire):
    wire.hear(presenter.keys, still=True)

    async def run():
        command(presenter, "next")
        return presenter.screen.move.moving, presenter.screen.bench.scenario

    assert asyncio.run(run()) == (False, LESSON.scenes[1].scenario)


def test_a_key_during_a_move_is_its_end_and_no_more(presenter):
    async def run():
        command(presenter, "next")
        begun = presenter.screen.move.moving
        command(presenter, "next")
        return begun, presenter.screen.move.moving

    assert asyncio.run(run()) == (True, False)
    assert presenter.model.place == 1
    assert presenter.screen.bench.scenario == LESSON.scenes[1].scenario


def test_other_keys_during_a_move_do_their_work_as_well(presenter):
    async def run():
        command(presenter, "next")
        command(presenter, "last")

    asyncio.run(run())
    assert presenter.model.place == 3


def test_sliders_are_moved_once_and_glide_in_the_browser(presenter, wire, monkeypatch):
    monkeypatch.setattr(moving, "DURATION_S", 0.2)
    slider = presenter.screen.controls["arterial_saturation"].slider
    presenter.model.lesson = Lesson("Two", scenes=(Scene("a"), Scene("b", Scenario(0.8))))
    before = len(wire.messages)

    async def run():
        command(presenter, "next")
        assert "ow-moving" in presenter.screen.tries._dom_classes
        while presenter.screen.move.moving:
            await asyncio.sleep(0.005)

    asyncio.run(run())
    sent = [each for each in wire.messages[before:] if each.comm_id == slider.comm.comm_id]
    assert len(sent) == 1
    assert slider.value == pytest.approx(80.0)
    assert "ow-moving" not in presenter.screen.tries._dom_classes


# ----- trying


def test_trying_moves_the_stage_and_leaves_the_lesson(presenter, wire):
    screen = presenter.screen
    wire.set(screen.controls["arterial_saturation"], 82.0)
    assert screen.bench.scenario.arterial_saturation == pytest.approx(0.82)
    assert "82 %" in text_of(screen.stage.parts[NUMBERS].widget)
    assert presenter.model.lesson is LESSON
    back = screen.tries.children[-1]
    back.click()
    assert screen.bench.scenario == LESSON.scenes[0].scenario
    assert screen.controls["arterial_saturation"].number.value == 97.0


def test_the_polls_truth_is_the_scenes_whatever_is_tried(presenter, wire):
    screen = go(presenter, 2)
    wire.set(screen.controls["arterial_saturation"], 82.0)
    command(presenter, "reveal")
    assert "the blood carries 67.9 %" in text_of(screen.poll.widget)  # 97 % times 0.7


# ----- polls


def test_the_answer_is_covered_until_revealed(presenter):
    screen = go(presenter, 2)
    assert screen.covered == ("numbers", ANSWER)
    assert "67.9" not in text_of(presenter.widget)
    screen.stage.parts["numbers"].cover.click()
    assert screen.covered == (ANSWER,)
    assert "ow-poll-truth" not in text_of(screen.poll.widget)
    command(presenter, "on")
    assert "ow-poll-truth" in text_of(screen.poll.widget)
    assert presenter.model.place == 2


def test_guesses_are_kept_for_each_scene_while_the_page_lives(presenter, wire):
    screen = go(presenter, 2)
    wire.hear(screen.poll.field, value="97, 95")
    go(presenter, 0)
    presenter.close()
    presenter.open()
    go(presenter, 2)
    assert "2 guesses; the median guess is 96 %" in text_of(screen.poll.widget)


def test_guesses_follow_their_scene_when_its_notes_change_or_it_moves(presenter, wire):
    screen = go(presenter, 2)
    wire.hear(screen.poll.field, value="97")
    lesson = presenter.model.lesson.with_changed(2, replace(LESSON.scenes[2], notes="New."))
    presenter.model.lesson = lesson.moved(2, 0)
    go(presenter, 0)
    assert "1 guess;" in text_of(screen.poll.widget)


def test_the_same_question_asked_twice_has_two_polls(presenter, wire):
    presenter.model.lesson = LESSON.with_scene(LESSON.scenes[2], 3)
    screen = go(presenter, 2)
    wire.hear(screen.poll.field, value="97")
    go(presenter, 3)
    assert "No guesses yet." in text_of(screen.poll.widget)
    go(presenter, 2)
    assert "1 guess;" in text_of(screen.poll.widget)


def test_a_bad_guess_is_told_over_the_stage(presenter, wire):
    screen = go(presenter, 2)
    wire.hear(screen.poll.field, value="lots")
    assert "is not a number" in presenter.notice.value
