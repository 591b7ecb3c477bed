"""The virtual desaturation study's size of error against what real studies reported."""

import numpy as np
import pytest

from oximetry_workbook.study.sensitivity import assumptions, one_at_a_time, reading_model
from oximetry_workbook.study.volunteers import Protocol, desaturation_study, draw_people

DEEP = Protocol(plateaus_percent=(100, 95, 90, 85, 80, 75, 70, 65, 60), samples_per_plateau=4)


@pytest.fixture(scope="module", params=[1, 2])
def readings(request):
    table = desaturation_study(draw_people(400, seed=request.param), DEEP, seed=request.param)
    return table.assign(error=table["spo2_percent"] - table["sao2_percent"]).dropna()


def spread(readings, low, high):
    """Standard deviation of the error [points] between two saturations of the blood [%]."""
    return readings[readings["sao2_percent"].between(low, high)]["error"].std()


def test_spread_between_60_and_70_percent_is_of_the_size_found(readings):
    """Bickler, Feiner and Severinghaus 2005, Anesthesiology 102:715-719, abstract: standard
    deviation of the error at 60 to 70 % SaO2, 3.20 points in light and 2.45 in dark skin. Ours may
    be off by a third either way: the people who were studied are not known more closely."""
    assert 2.45 / 1.34 < spread(readings, 60.0, 70.0) < 3.20 * 1.34


def test_spread_grows_towards_low_saturation(readings):
    """Eur Respir J 1991 4:115, abstract: 14 meters on 16 people, standard deviation of the error
    below 3 points at SaO2 above 83 % and up to 5 in deeper hypoxia, down to 55 %."""
    steps = [spread(readings, low, low + 10.0) for low in (90.0, 80.0, 70.0, 60.0)]
    assert (np.diff(steps) > 0.0).all()
    assert 0.5 < spread(readings, 83.0, 100.0) < 3.0
    assert spread(readings, 83.0, 100.0) < spread(readings, 55.0, 83.0) < 5.0


def test_accuracy_of_the_whole_range_meets_the_guidance(readings):
    """FDA, Pulse Oximeters, guidance of 4 March 2013, docket FDA-2007-D-0205: A_rms at most 3.0 %
    from 70 to 100 % for probes that shine through. The other way, meters scatter by a point or
    more against blood (common practice): the simulation is not too good."""
    error = readings[readings["sao2_percent"].between(70.0, 100.0)]["error"]
    assert 1.0 < np.sqrt(np.mean(error**2)) <= 3.0


def test_default_study_has_the_pairs_and_people_the_guidance_asks_for():
    """FDA, the same guidance: 200 pairs or more of ten people or more, at least two of them, or
    15 %, with darkly pigmented skin; pairs spread over 70 to 100 %."""
    for seed in range(20):
        people = draw_people(10, seed=seed)
        table = desaturation_study(people, seed=seed)
        assert len(table) >= 200
        assert (people["group"] == "dark").sum() >= 2
        counts = np.histogram(table["sao2_percent"], [68.0, 80.0, 90.0, 100.0])[0]
        assert counts.min() >= 0.2 * len(table)


def test_pigment_in_itself_hardly_matters():
    """Reuss 2005, IEEE Trans Biomed Eng 52:153-159 (conclusion as told in its abstract): a thin
    absorber on the surface hardly changes the reading. Studies did find a bias, 3.6 points in dark
    skin at 60 to 70 % (Bickler and others 2005): that is left unexplained here, and the
    docstring of `desaturation_study` says so."""
    table = one_at_a_time(reading_model(65.0), assumptions()).set_index("assumption")
    assert abs(table.loc["melanin_fraction", "swing"]) < 0.5


def test_perfusion_of_healthy_adults():
    """Lima, Beelen and Bakker 2002, Crit Care Med 30:1210-1213: 108 healthy adults, median 1.4 %
    (methods and discussion read); from 0.3 to 10 % (from memory). Ends of 108 values move much
    from draw to draw, so the medians of 40 draws are held to a factor of 1.5."""
    draws = [draw_people(108, seed=seed)["perfusion_index_percent"] for seed in range(40)]
    low, middle, high = np.median([each.quantile([0.0, 0.5, 1.0]) for each in draws], axis=0)
    assert middle == pytest.approx(1.4, rel=0.03)
    assert 0.3 / 1.5 < low < 0.3 * 1.5
    assert 10.0 / 1.5 < high < 10.0 * 1.5
