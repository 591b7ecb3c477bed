"""Scenes and lessons: what they refuse, how they change, JSON there and back."""

import json
from dataclasses import asdict, fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.teach.lesson_json import (
    KIND,
    LARGEST_FILE,
    SCHEMA_VERSION,
    lesson_text,
    own_lessons,
    read_lesson,
)
from oximetry_workbook.teach.reading import CURVE_NAMES
from oximetry_workbook.teach.scene import (
    GUESSES,
    LONGEST_TEXT,
    LONGEST_TITLE,
    MOST_SCENES,
    PARTS,
    Lesson,
    Scene,
)

COLD = Scenario(vasoconstriction=1.0, noise_percent=0.08)
SMOKE = Scenario(carboxyhaemoglobin=0.3)
LESSON = Lesson(
    "Cold and smoke",
    "Ward staff",
    (
        Scene("Ordinary", question="What will it show?", guess="shown", covered=("numbers",)),
        Scene("A cold hand", COLD, spoken="Now it is winter.", minutes=3.0),
        Scene("Smoke", SMOKE, shown=("numbers", "curve"), notes="Let them argue."),
    ),
)

titles = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=40).filter(
    str.strip
)
texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=60)


@st.composite
def scenes(draw, scenarios):
    shown = draw(st.lists(st.sampled_from(tuple(PARTS)), unique=True))
    return Scene(
        title=draw(titles),
        scenario=draw(scenarios),
        curve=draw(st.sampled_from(CURVE_NAMES)),
        spoken=draw(texts),
        question=draw(texts),
        guess=draw(st.sampled_from(("", *GUESSES))),
        shown=shown,
        covered=draw(st.lists(st.sampled_from(shown), unique=True)) if shown else (),
        notes=draw(texts),
        minutes=draw(st.floats(0.01, 240.0)),
    )


def message_of(make, *arguments, **fields_given):
    with pytest.raises(ValueError, match=r".") as caught:
        make(*arguments, **fields_given)
    return str(caught.value)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"title": ""}, "title is empty"),
        ({"title": " \t"}, "title is empty"),
        ({"title": 7}, "title is 7; it must be text"),
        ({"title": "x" * (LONGEST_TITLE + 1)}, "title has 121 characters"),
        ({"spoken": "x" * (LONGEST_TEXT + 1)}, "spoken has 2001 characters"),
        ({"question": None}, "question is None"),
        ({"notes": ["a"]}, "notes is ['a']"),
        ({"scenario": {"site": "ear"}}, "scenario is {'site': 'ear'}"),
        ({"curve": "mine"}, "curve is 'mine'; allowed are "),
        ({"guess": "truth"}, "guess is 'truth'; allowed are nothing, shown, "),
        ({"shown": "numbers"}, "shown is 'numbers'; it must be a list"),
        ({"shown": ["numbers", "nose"]}, "shown is 'nose'; allowed are numbers, "),
        ({"shown": ["ratio"], "covered": ["curve"]}, "covered names curve"),
        ({"minutes": 0}, "minutes is 0; allowed is above 0"),
        ({"minutes": float("nan")}, "minutes is nan; allowed"),
        ({"minutes": 10**400}, "minutes is inf; allowed"),
        ({"minutes": True}, "minutes is True; it must be a number"),
        ({"minutes": "2"}, "minutes is '2'; it must be a number"),
    ],
)
def test_a_scene_refuses_and_says_which_field(wrong, said):
    assert message_of(Scene, **{"title": "A scene", **wrong}).startswith(said)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"title": " "}, "title is empty"),
        ({"scenes": ()}, "scenes has 0 entries"),
        ({"scenes": (Scene("A"),) * (MOST_SCENES + 1)}, "scenes has 201 entries"),
        ({"audience": 3}, "audience is 3"),
    ],
)
def test_a_lesson_refuses_and_says_which_field(wrong, said):
    assert message_of(replace, LESSON, **wrong).startswith(said)


def test_parts_stand_in_the_order_of_the_page_each_once():
    assert Scene("A", shown=["curve", "numbers", "curve"]).shown == ("numbers", "curve")


@pytest.mark.parametrize("guess", GUESSES)
def test_the_truth_of_a_guess_is_the_engines(guess):
    scene = Scene("A", SMOKE, guess=guess)
    measured = scene.reading().measurement
    engine = {
        "shown": measured.spo2_percent,
        "carried": 70.0 * SMOKE.arterial_saturation,
        "error": measured.spo2_percent - 70.0 * SMOKE.arterial_saturation,
        "ratio": measured.ratio,
        "pulse_rate": measured.heart_rate_bpm,
        "perfusion_index": measured.perfusion_index_percent,
    }
    assert scene.truth() == pytest.approx(engine[guess])
    assert GUESSES[guess].low <= scene.truth() <= GUESSES[guess].high


def test_there_is_no_truth_to_guess_where_nothing_is_asked_or_shown():
    assert Scene("A").truth() is None
    withheld = Scenario(noise_percent=1.0, perfusion_index_percent=0.3)
    assert Scene("A", withheld, guess="shown").truth() is None


@pytest.mark.parametrize("guess", GUESSES)
def test_asking_covers_what_tells_the_answer_among_what_is_shown(guess):
    shown = ("numbers", "layers", "pulses")
    asked = Scene("A", SMOKE, shown=shown, covered=("pulses",)).asking(guess)
    assert asked.given_away_by == ()
    assert set(asked.covered) == {"pulses", *GUESSES[guess].told_by} & set(shown)
    assert asked.asking("").covered == asked.covered


@pytest.mark.parametrize("lesson", own_lessons(), ids=lambda lesson: lesson.title)
def test_no_lesson_that_comes_along_gives_an_answer_away(lesson):
    assert [scene.title for scene in lesson.scenes if scene.given_away_by] == []


def test_scenes_are_added_moved_changed_and_taken_out():
    extra = Scene("Extra")
    names = [scene.title for scene in LESSON.with_scene(extra, 1).scenes]
    assert names == ["Ordinary", "Extra", "A cold hand", "Smoke"]
    assert LESSON.with_scene(extra).scenes[-1] is extra
    assert [s.title for s in LESSON.moved(2, 0).scenes] == ["Smoke", "Ordinary", "A cold hand"]
    assert LESSON.moved(0, 2).moved(2, 0) == LESSON
    assert LESSON.with_scene(extra, 1).without(1) == LESSON
    assert LESSON.with_changed(1, extra).scenes[1] is extra
    assert LESSON.minutes == pytest.approx(7.0)
    assert "scenes has 0" in message_of(Lesson("One", "", (extra,)).without, 0)


def test_a_lesson_of_words_and_numbers_is_readable_by_eye():
    content = json.loads(lesson_text(LESSON))
    assert (content["kind"], content["schema"]) == (KIND, SCHEMA_VERSION)
    assert content["scenes"][1] == {
        "title": "A cold hand",
        "spoken": "Now it is winter.",
        "minutes": 3.0,
        "scenario": {"schema": 1, "vasoconstriction": 1.0, "noise_percent": 0.08},
    }


@settings(deadline=None)
@given(st.data())
def test_json_there_and_back(any_scenario, data):
    made = Lesson(
        data.draw(titles),
        data.draw(texts),
        data.draw(st.lists(scenes(any_scenario), min_size=1, max_size=3)),
    )
    assert read_lesson(lesson_text(made)) == made


def assert_read_or_refused(text):
    refusal = ""
    try:
        lesson = read_lesson(text)
    except ValueError as error:
        lesson, refusal = None, str(error)
    assert isinstance(lesson, Lesson) != bool(refusal)


def changed(change):
    """The text of the lesson after a change to its content."""
    content = json.loads(lesson_text(LESSON))
    change(content)
    return json.dumps(content)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not readable JSON text, at line 1, column 1"),
        ("{", "not readable JSON text"),
        ("[" * 100_000, "not readable JSON text"),
        ("[]", "must be a JSON object"),
        ("{}", "holds no lesson"),
        ('{"a": NaN}', "holds NaN"),
        ('{"a": ' + "9" * 5000 + "}", "a number of 5000 digits"),
        (" " * (LARGEST_FILE + 1), "has 4000001 characters"),
        (changed(lambda c: c.update(schema=2)), "schema is 2; this version reads 1"),
        (changed(lambda c: c.update(schema=True)), "schema is True"),
        (changed(lambda c: c.pop("title")), "title is missing"),
        (changed(lambda c: c.pop("scenes")), "scenes is missing"),
        (changed(lambda c: c.update(scenes={})), "scenes must be a list"),
        (changed(lambda c: c.update(scenes=[])), "scenes has 0 entries"),
        (changed(lambda c: c.update(colour=1)), "unknown field 'colour'"),
        (changed(lambda c: c["scenes"].append(3)), "scene 4: it must be a JSON object"),
        (changed(lambda c: c["scenes"][1].pop("title")), "scene 2: title is missing"),
        (changed(lambda c: c["scenes"][1].update(sound="x")), "scene 2: unknown field 'sound'"),
        (
            changed(lambda c: c["scenes"][2].update(scenario={"schema": 9})),
            "scene 3: scenario: schema is 9",
        ),
        (
            changed(lambda c: c["scenes"][0]["scenario"].update(arterial_saturation=97)),
            "scene 1: scenario: arterial_saturation is 97; allowed is 0.4 to 1; this is a "
            "fraction, so write 0.97",
        ),
        (changed(lambda c: c["scenes"][0].update(scenario=[])), "scene 1: scenario: "),
        (changed(lambda c: c["scenes"][0].update(covered=3)), "scene 1: covered is 3"),
    ],
)
def test_a_bad_file_is_refused_with_scene_field_and_reason(text, said):
    assert said in message_of(read_lesson, text)


@settings(deadline=None, max_examples=500)
@given(st.data())
def test_a_spoilt_file_is_refused_or_read_never_a_crash(data):
    """Cut, doubled or with one character replaced, anywhere."""
    text = lesson_text(LESSON)
    at = data.draw(st.integers(0, len(text) - 1))
    spoilt = data.draw(
        st.sampled_from(
            (text[:at], text[at:], text[:at] + text[at + 1 :], text[:at] + "\x00" + text[at + 1 :])
        )
        | st.characters().map(lambda c: text[:at] + c + text[at + 1 :])
    )
    assert_read_or_refused(spoilt)


junk = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@settings(deadline=None, max_examples=300)
@given(st.sampled_from([f.name for f in fields(Scene)]), junk)
def test_any_junk_in_any_field_gets_a_message(name, value):
    text = changed(lambda content: content["scenes"][1].update({name: value}))
    assert_read_or_refused(text)


def test_a_scenario_tells_what_sets_it_apart():
    assert Scenario().changes() == {}
    assert COLD.changes() == {"vasoconstriction": 1.0, "noise_percent": 0.08}
    assert Scenario(**COLD.changes()) == COLD
    assert set(COLD.changes()) < set(asdict(COLD))


def test_the_lessons_that_come_along_last_as_long_as_they_say():
    assert [lesson.minutes for lesson in own_lessons()] == [10.0, 15.0, 40.0]


@pytest.mark.parametrize("lesson", own_lessons(), ids=lambda lesson: lesson.title)
def test_the_lessons_that_come_along_hold_together(lesson):
    assert read_lesson(lesson_text(lesson)) == lesson
    assert len({scene.title for scene in lesson.scenes}) == len(lesson.scenes)
    for scene in lesson.scenes:
        assert scene.spoken
        assert scene.question.endswith("?")
        if scene.guess:  # there is something to guess, and the answer is covered
            assert scene.truth() is not None
            telling = {"numbers", TELLS.get(scene.guess, "numbers")}
            assert telling & set(scene.shown) <= set(scene.covered)


TELLS = {"shown": "curve", "error": "curve", "ratio": "ratio"}
"""The plot that gives away what is to be guessed, beside the numbers."""
