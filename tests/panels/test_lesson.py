"""The panel that prepares a lesson: scenes from the bench, their words, their order, files."""

import io
import json
import zipfile
from html.parser import HTMLParser

import pytest

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.lesson import EMPTY, LessonPanel
from oximetry_workbook.panels.lesson_pictures import handout, plots_archive
from oximetry_workbook.teach.lesson_json import lesson_text, own_lessons, read_lesson
from oximetry_workbook.teach.page_lesson import truth_text
from oximetry_workbook.teach.scene import GUESSES, PARTS, Lesson, Scene

COLD = Scenario(vasoconstriction=1.0, noise_percent=0.08)
SMOKE = Scenario(carboxyhaemoglobin=0.3)
SHORT = Lesson(
    "Cold & <smoke>",
    "Ward",
    (
        Scene("A cold hand", COLD, spoken="Winter.", shown=("numbers", "pulses")),
        Scene(
            "Smoke",
            SMOKE,
            question="What will it show?",
            guess="shown",
            shown=("numbers", "curve"),
            covered=("numbers", "curve"),
        ),
    ),
)


@pytest.fixture
def panel():
    return LessonPanel()


def told(panel):
    return panel.notice.value


def test_an_empty_start_has_one_scene_and_nothing_to_undo(panel):
    assert panel.model.lesson == EMPTY
    assert panel.scenes.buttons["undo"].disabled
    assert panel.scenes.buttons["remove"].disabled
    assert panel.put.disabled
    assert "shows scene 1" in panel.differs.value


def test_the_bench_becomes_a_scene_and_the_place_goes_there(panel):
    panel.bench.model.scenario = COLD
    assert "moved away from scene 1" in panel.differs.value
    panel.add.click()
    assert panel.model.lesson.scenes[1].scenario == COLD
    assert panel.model.place == panel.scenes.choice.index == 1
    assert "shows scene 2" in panel.differs.value


def test_the_bench_goes_into_the_present_scene_and_keeps_its_words(panel):
    panel.form.texts["spoken"].value = "Look."
    panel.bench.model.scenario = SMOKE
    panel.put.click()
    assert panel.model.scene == Scene("First scene", SMOKE, spoken="Look.")


def test_choosing_a_scene_brings_its_words_and_its_situation(panel):
    panel.model.lesson = SHORT
    panel.scenes.choice.index = 1
    assert panel.bench.model.scenario == SMOKE
    assert panel.form.texts["title"].value == "Smoke"
    assert panel.form.guess.value == "shown"
    assert [part for part in PARTS if panel.form.shown[part].value] == ["numbers", "curve"]
    assert [part for part in PARTS if panel.form.covered[part].value] == ["numbers", "curve"]
    assert panel.form.covered["ratio"].disabled


def test_every_field_of_the_form_is_written_into_the_scene(panel):
    form = panel.form
    for name, field in form.texts.items():
        field.value = f"my {name}"
    form.guess.value, form.minutes.value = "ratio", 3.5
    form.covered["numbers"].value = False
    form.shown["layers"].value = False
    assert panel.model.scene == Scene(
        "my title",
        spoken="my spoken",
        question="my question",
        notes="my notes",
        guess="ratio",
        minutes=3.5,
        shown=("numbers", "pulses", "ratio", "curve"),
        covered=("ratio", "curve"),
    )
    assert told(panel) == ""


def test_what_tells_the_number_to_be_guessed_is_covered_and_warned_of_when_it_is_not(panel):
    panel.form.guess.value = "shown"
    assert panel.model.scene.covered == ("numbers", "curve")
    assert panel.form.warning.value == ""
    panel.form.covered["numbers"].value = False
    assert "The numbers and the sentence” gives the answer away" in panel.form.warning.value
    panel.form.covered["curve"].value = False
    assert "and “From ratio to number” give the answer" in panel.form.warning.value
    panel.form.guess.value = ""
    assert panel.form.warning.value == ""


def test_words_and_places_that_change_leave_the_bench_as_somebody_has_set_it(panel):
    panel.model.lesson = SHORT
    panel.bench.model.set("heart_rate_bpm", 111.0)
    moved = panel.bench.model.scenario
    panel.form.texts["notes"].value = "Mind the time."
    panel.scenes.buttons["down"].click()
    assert panel.model.place == 1
    assert panel.bench.model.scenario == moved
    assert "moved away from scene 2" in panel.differs.value
    panel.scenes.choice.index = 0
    assert panel.bench.model.scenario == SMOKE


def test_a_new_scene_does_not_take_the_bench_back_on_the_way(panel):
    panel.bench.model.scenario = COLD
    seen = []
    panel.bench.model.observe(lambda change: seen.append(change["new"]), names="scenario")
    panel.add.click()
    assert seen == []


def test_starting_again_brings_the_first_scene_to_the_bench(panel):
    panel.bench.model.scenario = COLD
    panel.start.value = EMPTY
    assert panel.bench.model.scenario == EMPTY.scenes[0].scenario
    assert panel.start.label == "Choose a lesson"


def test_what_leaves_the_screen_is_not_covered_any_more(panel):
    panel.form.covered["curve"].value = True
    panel.form.shown["curve"].value = False
    assert panel.model.scene.covered == ()
    assert not panel.form.covered["curve"].value


@pytest.mark.parametrize(("field", "value"), [("title", "  "), ("spoken", "x" * 3000)])
def test_what_a_scene_cannot_take_is_told_and_the_field_goes_back(panel, field, value):
    before = panel.model.lesson
    panel.form.texts[field].value = value
    assert field in told(panel)
    assert panel.model.lesson == before
    assert panel.form.texts[field].value == getattr(before.scenes[0], field)


def test_a_lesson_without_a_name_is_refused(panel):
    panel.title.value = ""
    assert "title is empty" in told(panel)
    assert panel.title.value == EMPTY.title
    panel.title.value, panel.audience.value = "Mine", "Friends"
    assert (panel.model.lesson.title, panel.model.lesson.audience) == ("Mine", "Friends")


def test_scenes_move_are_copied_and_removed_and_all_of_it_can_be_undone(panel):
    panel.model.lesson = SHORT
    buttons = panel.scenes.buttons
    buttons["down"].click()
    assert [s.title for s in panel.model.lesson.scenes] == ["Smoke", "A cold hand"]
    assert panel.model.scene.title == "A cold hand"
    buttons["copy"].click()
    buttons["remove"].click()
    buttons["up"].click()
    assert panel.model.lesson == SHORT
    for _ in range(4):
        buttons["undo"].click()
    assert panel.model.lesson == SHORT
    buttons["undo"].click()
    assert panel.model.lesson == EMPTY
    assert buttons["undo"].disabled


def test_a_lesson_that_comes_along_can_be_started_from(panel):
    names = [name for name, _ in panel.start.options]
    assert names == [
        "Choose a lesson",
        *(f"{each.title} ({each.minutes:.0f} min)" for each in own_lessons()),
        "An empty lesson",
    ]
    panel.start.value = own_lessons()[2]
    assert panel.model.lesson == own_lessons()[2]
    assert panel.start.label == "Choose a lesson"


def test_what_the_browser_kept_is_taken_up_and_what_it_cannot_read_is_not(panel):
    panel.kept.found = "{"
    assert len(panel.start.options) == 5
    assert panel.kept.text == ""  # an empty lesson does not drive out what was kept
    assert panel.resumed.value == ""
    panel.kept.found = lesson_text(SHORT)
    assert panel.model.lesson == SHORT
    assert "left off" in panel.resumed.value
    assert panel.bench.model.scenario == SHORT.scenes[0].scenario
    panel.start.value = EMPTY
    assert (panel.model.lesson, panel.resumed.value) == (EMPTY, "")
    assert panel.kept.text == lesson_text(SHORT)


def test_what_was_begun_stays_and_what_the_browser_kept_is_offered(panel):
    panel.title.value = "Begun"
    panel.kept.found = lesson_text(SHORT)
    assert (panel.model.lesson.title, panel.resumed.value) == ("Begun", "")
    name, kept = panel.start.options[1]
    assert (name, kept) == ("Where I left off: Cold & <smoke>", SHORT)
    panel.start.value = kept
    assert panel.model.lesson == SHORT


def test_teaching_starts_at_the_first_scene_and_trying_one_out_at_it(panel):
    panel.model.lesson = SHORT
    panel.model.go(1)
    panel.teach_here.click()
    assert (panel.presenter.open_now, panel.model.place) == (True, 1)
    panel.presenter.open_now = False
    panel.teach.click()
    assert (panel.presenter.open_now, panel.model.place) == (True, 0)


def test_a_lesson_file_is_opened(panel, hand_over):
    panel.model.go(0)
    hand_over(panel.files.upload, lesson_text(SHORT).encode())
    assert panel.model.lesson == SHORT


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "not readable JSON"),
        (b"\xff\xfe\x00", "not text"),
        (b'{"kind": "x"}', "holds no lesson"),
        (lesson_text(SHORT).replace("0.3", "30").encode(), "scene 2: scenario: carboxy"),
    ],
)
def test_a_bad_lesson_file_is_refused_and_the_lesson_stays(panel, content, said, hand_over):
    hand_over(panel.files.upload, content)
    assert said in told(panel)
    assert panel.model.lesson == EMPTY


def test_saving_offers_the_lesson_as_its_file_and_a_change_takes_the_link_away(panel):
    panel.model.lesson = SHORT
    panel.files.save.work.button.click()
    link = panel.files.save.link.value
    assert 'download="cold-smoke.json"' in link
    panel.model.lesson = SHORT.without(0)
    assert panel.files.save.link.value == ""


class Reader(HTMLParser):
    """Collects text, headings and whatever would ask for something from outside."""

    def __init__(self, page):
        super().__init__()
        self.headings, self.asked, self.text, self._in = [], [], [], None
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        self._in = tag
        self.asked += [
            value
            for name, value in attributes
            if name in ("src", "href", "xlink:href") and not value.startswith("#")
        ]
        if tag == "script":
            self.asked.append("script")

    def handle_data(self, data):
        self.text.append(data)
        if self._in in ("h1", "h2", "h3"):
            self.headings.append(data.strip())


@pytest.fixture(scope="module")
def page():
    *_, (share, made) = handout(SHORT)
    assert share == 1.0
    return made


def test_the_handout_asks_for_nothing_from_outside_and_escapes(page):
    reader = Reader(page)
    assert reader.asked == []
    assert reader.headings[0] == "Cold & <smoke>"
    assert "<smoke>" not in page


def test_the_answers_stand_after_everything_else(page):
    """Nothing before the heading “Answers” gives away what was covered."""
    before, after = page.split("Answers</h2>")
    truth = truth_text("shown", SHORT.scenes[1].truth())
    assert truth in " ".join(Reader(after).text).replace("\N{NO-BREAK SPACE}", " ")
    assert "From ratio to number" not in before
    assert "From ratio to number" in after
    assert "What will it show?" in before
    assert "________" in before


def test_the_handout_has_cautions_and_sources(page):
    text = " ".join(Reader(page).text)
    assert "Not for diagnosis or patient care" in text
    assert "Jacques" in text


def test_all_plots_of_a_lesson_come_as_one_archive():
    *_, (_, content) = plots_archive(SHORT)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == [
            "01-a-cold-hand/the-two-pulses.svg",
            "01-a-cold-hand/the-two-pulses.png",
            "02-smoke/from-ratio-to-number.svg",
            "02-smoke/from-ratio-to-number.png",
        ]
        assert archive.read("02-smoke/from-ratio-to-number.png").startswith(b"\x89PNG")


@pytest.mark.parametrize("guess", GUESSES)
def test_every_guess_has_its_truth_in_words(guess):
    scene = Scene("A", SMOKE, guess=guess)
    assert truth_text(guess, scene.truth())[0].isprintable()


def test_the_lesson_file_a_panel_saves_is_one_that_it_opens(panel):
    panel.model.lesson = own_lessons()[1]
    assert read_lesson(panel.kept.text) == own_lessons()[1]
    assert json.loads(panel.kept.text)["title"] == own_lessons()[1].title
