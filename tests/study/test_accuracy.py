"""Accuracy of a study: its table, deciles and groups, the sentences, and what is refused."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from oximetry_workbook.meter.curve import TEXTBOOK
from oximetry_workbook.study.accuracy import accuracy, gaps, read_pairs, statement
from oximetry_workbook.study.agreement import agreement
from oximetry_workbook.study.calibration_fit import leave_one_subject_out
from oximetry_workbook.study.pairs import MOST_BYTES
from oximetry_workbook.study.small_study import desaturate, draw_volunteers

CSV = """Subject,Skin tone,Ratio of ratios,SpO₂ [%],SaO2 (%)
7,dark,0.52,98,97.5
7,dark,1.01,86,84.9
8,light,0.61,95,95.2
8,light,1.22,79,80.1
"""


def study(people=20, pairs=12, lowest=70.5, seed=3):
    """Invented people whose readings part from blood by a normal amount, their own and chance."""
    rng = np.random.default_rng(seed)
    subject = np.repeat(np.arange(people), pairs)
    sao2 = np.tile(np.linspace(99.0, lowest, pairs), people)
    error = rng.normal(0.0, 1.0, people)[subject] + rng.normal(0.0, 1.0, subject.size)
    return pd.DataFrame(
        {
            "subject": subject,
            "group": np.where(subject % 2, "light", "dark"),
            "sao2_percent": sao2,
            "spo2_percent": sao2 + error,
        }
    )


def test_columns_are_found_by_name_whatever_their_order():
    pairs = read_pairs(CSV.encode())
    assert pairs.findings == ()
    assert pairs.table["subject"].tolist() == ["7", "7", "8", "8"]
    assert pairs.table["group"].tolist() == ["dark", "dark", "light", "light"]
    assert pairs.table["ratio"].tolist() == [0.52, 1.01, 0.61, 1.22]
    assert pairs.table["sao2_percent"].tolist() == [97.5, 84.9, 95.2, 80.1]
    turned = read_pairs(CSV.encode()).table.iloc[:, ::-1]
    pd.testing.assert_frame_equal(read_pairs(turned).table[list(pairs.table)], pairs.table)


def test_file_bytes_and_table_read_alike(tmp_path):
    (tmp_path / "study.csv").write_text(CSV, encoding="utf-8-sig")
    wanted = read_pairs(CSV.encode()).table
    pd.testing.assert_frame_equal(read_pairs(tmp_path / "study.csv").table, wanted)
    pd.testing.assert_frame_equal(read_pairs(str(tmp_path / "study.csv")).table, wanted)
    pd.testing.assert_frame_equal(read_pairs(wanted).table, wanted)


@pytest.mark.parametrize("separator", [";", "\t"])
def test_decimal_commas_between_semicolons_or_tabs(separator):
    turned = CSV.replace(",", separator).replace(".", ",")
    wanted = read_pairs(CSV.encode()).table
    pd.testing.assert_frame_equal(read_pairs(turned.encode()).table, wanted)


def test_numbers_of_subjects_stay_whole_beside_gaps():
    table = pd.DataFrame({"subject": [1.0, np.nan, 2.0], "spo2": [90] * 3, "sao2": [89.0] * 3})
    assert read_pairs(table).table["subject"].tolist() == ["1", "2"]


def test_what_was_found_is_told():
    more = CSV.replace("SaO2 (%)", "SaO2 (%),Site").replace("\n7", ",\n7").replace("\n8", ",\n8")
    rows = "8,light,0.61,--,,x\n,light,0.61,95,95,x\n9,,0.6,95,95,x\n9,light,,n/a,95,x\n"
    rows += "9,light,1.9,,66,x\n9,light,1.9,,66,x\n"
    pairs = read_pairs((more + rows).encode())
    assert len(pairs.table) == 6
    assert pairs.findings == (
        "Left out for want of subject: 1 row, first 6.",
        "Left out for want of sao2_percent: 1 row, first 5.",
        "Left out for want of ratio and spo2_percent: 1 row, first 8.",
        "Left out for want of group: 1 row, first 7.",
        "Columns not used: Site.",
        "spo2_percent is missing in 2 rows.",
        "Exact copies of an earlier row: 1 row. They were kept.",
        "Blood below 70 %: 2 rows, outside the range that studies cover.",
    )


def test_swapped_colours_are_told():
    table = pd.DataFrame({"subject": [1, 1, 2], "ratio": [0.8, 1.0, 1.6], "sao2": [75, 84, 99]})
    assert read_pairs(table).findings == (
        "R rises with saturation; the two colours may be swapped.",
    )


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("SaO2 (%)", "pO2", "no column sao2_percent among Subject, .* call it sao2 or"),
        ("Subject", "Row", "no column subject among Row"),
        ("SpO₂ [%]", "SaO2", "sao2_percent is there twice, as 'SaO2' and"),
        ("97.5\n7", "97.5,3\n7", "no table of columns .* semicolons"),
        ("97.5", "high", "sao2_percent is 'high' in row 1; it must be a number"),
        ("97.5", "inf", "sao2_percent is 'inf' in row 1"),
        ("97.5", "0.975", "sao2_percent is 0.975 in row 1; allowed is above 1 and up to 100"),
        ("97.5", "102", "sao2_percent is 102 in row 1"),
        ("1.01", "0", "ratio is 0 in row 2"),
        ("1.01", "101", "ratio is 101 in row 2; allowed is above 0 and up to 10"),
        ("95,", "111,", "spo2_percent is 111 in row 3"),
    ],
)
def test_bad_tables_are_named(old, new, message):
    assert old in CSV
    with pytest.raises(ValueError, match=message):
        read_pairs(CSV.replace(old, new).encode())


def test_fractions_are_refused_with_a_hint():
    table = read_pairs(CSV.encode()).table
    for name in ("spo2_percent", "sao2_percent"):
        with pytest.raises(ValueError, match=f"{name} goes no higher than 0.9.*multiply by 100"):
            read_pairs(table.assign(**{name: table[name] / 100.0}))


@pytest.mark.parametrize(
    ("source", "message"),
    [
        (b"", "no table of columns"),
        (b"\xff\xfeS\x00", "no UTF-8 text"),
        ("nowhere.csv", "source is 'nowhere.csv'; there is no such file"),
        (b"subject,spo2,sao2\n1,,95\n", "no row is left"),
        (b"subject,sao2\n1,95\n", "no column spo2_percent .*; or ratio"),
    ],
)
def test_files_that_hold_no_study_are_refused(source, message):
    with pytest.raises(ValueError, match=message):
        read_pairs(source)


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path):
    with pytest.raises(ValueError, match="larger than 20 MB"):
        read_pairs(b" " * (MOST_BYTES + 1))
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(ValueError, match="larger than 20 MB"):
        read_pairs(path)


def test_overall_deciles_and_groups_are_agreements_of_their_pairs():
    table = study()
    result = accuracy(table, resamples=200)

    def of(rows):
        return agreement(rows["spo2_percent"], rows["sao2_percent"], rows["subject"], resamples=200)

    assert result.overall == of(table)
    edges = [(70, 80), (80, 90), (90, 100.1)]
    for part, (low, high) in zip(result.deciles, edges, strict=True):
        own = table[(table["sao2_percent"] >= low) & (table["sao2_percent"] < high)]
        assert part.agreement == of(own)
        assert (part.n, part.n_subjects) == (len(own), 20)
    for part in result.groups:
        assert part.agreement == of(table[table["group"] == part.name])
    assert [part.name for part in result.groups] == ["dark", "light"]


@given(st.sampled_from([70.0, 80.0, 90.0, 100.0]))
def test_an_edge_belongs_to_the_higher_decile(edge):
    table = study(4).assign(sao2_percent=edge, spo2_percent=95.0)
    sizes = [part.n for part in accuracy(table, resamples=100).deciles]
    assert sizes[min(int(edge - 70.0) // 10, 2)] == len(table) == sum(sizes)


def test_blood_below_70_and_withheld_readings_do_not_count():
    table = study()
    low = study(3, lowest=60.0).query("sao2_percent < 70").assign(spo2_percent=40.0)
    silent = study(2).assign(spo2_percent=np.nan)
    result = accuracy(pd.concat([table, low, silent]), resamples=100)
    assert result.overall == accuracy(table, resamples=100).overall
    assert (result.n_outside, result.n_without_reading) == (len(low), len(silent))
    words = " ".join(gaps(result))
    assert f"{len(low)} pairs with blood below 70 % not counted" in words
    assert f"{len(silent)} pairs without a reading not counted" in words


def test_a_curve_turns_ratios_into_readings():
    pairs = desaturate(draw_volunteers(12, 1), seed=1)
    result = accuracy(pairs, TEXTBOOK, resamples=100)
    reading = TEXTBOOK(pairs["ratio"].to_numpy())
    assert result.overall.a_rms == pytest.approx(
        np.sqrt(np.mean((reading - pairs["sao2_percent"]) ** 2))
    )
    left = leave_one_subject_out(pairs)
    assert accuracy(left.pairs, resamples=100).overall.a_rms == pytest.approx(left.a_rms)


@given(st.floats(-4.0, 4.0))
def test_a_shift_of_one_group_is_the_difference(shift):
    table = study()
    before = accuracy(table, resamples=200).differences[0]
    dark = table["group"] == "dark"
    after = accuracy(
        table.assign(spo2_percent=table["spo2_percent"] + shift * dark), resamples=200
    ).differences[0]
    assert (after.first, after.second) == ("dark", "light")
    assert after.bias - before.bias == pytest.approx(shift, abs=1e-9)
    for old, new in zip(before.intervals["bias"], after.intervals["bias"], strict=True):
        assert new - old == pytest.approx(shift, abs=1e-9)


def test_the_interval_of_a_difference_holds_it_about_as_often_as_it_says():
    """Two groups of twelve without a difference, 300 studies: 95 % less what resampling twelve
    people lacks (their variance comes out by 1/12 too small: about 93 %), standard error 1.5 %."""
    held = 0
    for seed in range(300):
        low, high = (
            accuracy(study(24, 4, seed=seed), resamples=400).differences[0].intervals["bias"]
        )
        held += low <= 0.0 <= high
    assert 0.88 <= held / 300 <= 0.98


def test_three_groups_give_three_differences_and_a_caution():
    table = study(30)
    table["group"] = [("dark", "medium", "light")[who % 3] for who in table["subject"]]
    result = accuracy(table, resamples=100)
    pairs = [(each.first, each.second) for each in result.differences]
    assert pairs == [("dark", "medium"), ("dark", "light"), ("medium", "light")]
    assert "Of 3 differences one may leave zero out by chance" in " ".join(gaps(result))


def test_nothing_is_found_in_a_full_study():
    result = accuracy(study(), resamples=200)
    assert gaps(result) == ()
    words = statement(result)
    assert f"A_rms, the size of a typical error, was {result.overall.a_rms:.2f} points" in words[0]
    assert "in 240 pairs of 20 subjects between 70.5 and 99.0 %" in words[0]
    assert words[1].count(": within") == 3
    assert "10 subjects or more and 200 pairs or more; here there are 20 and 240" in words[2]
    assert len(words) == 3 + 3 + 2 + 1 + 1
    assert "for teaching" in words[-1]


@pytest.mark.parametrize("a_rms", [0.5, 2.7, 2.9, 3.2, 3.4, 3.8, 6.0])
def test_verdicts_beside_the_limits(a_rms):
    """FDA guidance of 4 March 2013: 3.0 and 3.5; ISO 80601-2-61:2019, as quoted in
    JMIR Form Res 2024, e54256 (abstract read): 4.0."""
    table = study(40)
    error = -np.abs(table["spo2_percent"] - table["sao2_percent"])
    error *= a_rms / np.sqrt(np.mean(error**2))
    result = accuracy(table.assign(spo2_percent=table["sao2_percent"] + error))
    verdicts = [part.split(": ")[-1].rstrip(".") for part in statement(result)[1].split("; ")[1:]]
    high = result.overall.intervals["a_rms"][1]
    assert high == pytest.approx(a_rms * 1.15, rel=0.1)
    for limit, verdict in zip((3.0, 3.5, 4.0), verdicts, strict=True):
        if a_rms > limit:
            assert verdict == "above"
        elif high > limit:
            assert verdict == "within, but the interval reaches beyond"
        else:
            assert verdict == "within"


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (study(6), "6 subjects are too few"),
        (study(12), "144 pairs are fewer than the guidance asks for"),
        (study(lowest=78.0), "Nothing was measured from 70 to 78.0 %"),
        (study().query("sao2_percent < 96"), "Nothing was measured from 93.8 to 100 %"),
        (study(lowest=84.0), "Only 0 % of the pairs lie at 70 to 80 %"),
        (study().drop(columns="group"), "No groups were told apart"),
        (study().assign(group="all"), "There is one group only"),
        (study(12), "Group dark holds 6 subjects; fewer than 10 may all lean"),
        (
            study().assign(spo2_percent=lambda t: t["spo2_percent"] - 6.0 * (t["subject"] == 4)),
            "Subject 4 alone brings .* of the squared error",
        ),
        (
            pd.concat([study(), *[study().query("subject == 3")] * 12]),
            "Subject 3 alone brings 41 % of the pairs",
        ),
    ],
)
def test_what_the_data_cannot_show_is_said(table, words):
    result = accuracy(table, resamples=100)
    assert pd.Series(gaps(result)).str.contains(words, regex=True).any()
    assert set(gaps(result)) <= set(statement(result))


def test_a_part_with_one_subject_has_no_figure():
    table = study().assign(group=lambda t: np.where(t["subject"] == 0, "dark", "light"))
    result = accuracy(table, resamples=100)
    assert result.groups[0].agreement is None
    assert result.differences == ()
    assert "In group dark: 12 pairs of 1 subject, too few for a figure." in statement(result)


def test_a_difference_is_told_with_zero_inside_or_outside():
    table = study()
    apart = table.assign(spo2_percent=table["spo2_percent"] + 3.0 * (table["group"] == "dark"))
    for given_table, words in ((table, "zero lies inside"), (apart, "zero lies outside")):
        (difference,) = accuracy(given_table, resamples=200).differences
        low, high = difference.intervals["bias"]
        assert (low <= 0.0 <= high) == (words == "zero lies inside")
        told = " ".join(statement(accuracy(given_table, resamples=200)))
        assert words in told
        assert "less that in group light is" in told


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: accuracy(study().drop(columns="subject")), "no column subject"),
        (lambda: accuracy(study().drop(columns="spo2_percent")), "give it, or ratio and a curve"),
        (lambda: accuracy(study(), TEXTBOOK), "no column ratio"),
        (lambda: accuracy(study().assign(sao2_percent=np.nan)), "sao2_percent is nan at row 0"),
        (lambda: accuracy(study().assign(sao2_percent=101.0)), "sao2_percent goes up to 101"),
        (lambda: accuracy(study().assign(spo2_percent="x")), "spo2_percent holds something"),
        (lambda: accuracy(study().assign(sao2_percent=60.0)), "no pair has a reading and blood"),
        (lambda: accuracy(study().assign(group=None)), "group is missing in some rows"),
        (lambda: accuracy(study().assign(group=list("ab") * 120)), "subject 0 belongs to 2 groups"),
        (lambda: accuracy(study(), resamples=5), "resamples is 5; choose 100 or more"),
        (lambda: accuracy(study(), confidence=95), "confidence is 95"),
        (lambda: accuracy(study().assign(spo2_percent=0.9)), "spo2_percent is 0.9 .* multiply"),
    ],
)
def test_what_is_refused_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_difference_that_rounds_to_nothing_has_no_sign():
    pairs = study()
    swing = np.where(np.arange(len(pairs)) % 2, 1.0, -1.0)
    pairs["spo2_percent"] = pairs["sao2_percent"] + swing - 0.001
    told = " ".join(statement(accuracy(pairs)))
    assert "the meter read 0.00 points on average" in told
    assert "−0.00 points" not in told
