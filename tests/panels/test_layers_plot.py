"""The key of the layers: what each holds in the scenario at hand."""

import pytest

from oximetry_workbook.body.probe import LAYERS
from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.layers_plot import layer_names
from oximetry_workbook.teach.reading import read

PAINTED = Scenario(varnish="green", varnish_coats=4.0)


def test_varnish_lies_in_the_layer_that_is_named_after_it():
    bare, painted = (read(s).absorbance_layers for s in (Scenario(), PAINTED))
    grown = [name for name, k in zip(LAYERS, (painted - bare)[:, 0] > 0.5, strict=True) if k]
    assert grown == ["pigment"]
    names = layer_names(PAINTED)
    assert names[LAYERS.index("pigment")] == "pigment and varnish"
    assert [a for a, b in zip(names, LAYERS, strict=True) if a != b] == ["pigment and varnish"]


@pytest.mark.parametrize(
    "scenario",
    [Scenario(), PAINTED.replace(varnish_coats=0.0), PAINTED.replace(site="ear")],
    ids=["bare", "no coats", "no nail"],
)
def test_without_varnish_on_the_nail_nothing_is_named_after_it(scenario):
    assert layer_names(scenario) == LAYERS


def test_the_key_on_the_page_follows(bench):
    assert "varnish" not in bench.layers.key.value
    bench.model.scenario = PAINTED
    assert "pigment and varnish" in bench.layers.key.value
    bench.model.reset()
    assert "varnish" not in bench.layers.key.value
