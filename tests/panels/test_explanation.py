"""Five sentences follow the state while somebody listens, at the level chosen."""

from oximetry_workbook.body.scenario import Scenario
from oximetry_workbook.panels.bench import Bench
from oximetry_workbook.teach.explain import PUBLIC, STUDENTS, explain


def told(bench):
    return bench.explanation.text.value.replace("\N{NO-BREAK SPACE}", " ")


def test_folded_there_is_nothing_to_write():
    bench = Bench()
    bench.model.scenario = Scenario(site="ear")
    assert told(bench) == ""
    assert "ow-folded" in bench.explanation.widget._dom_classes


def test_unfolded_it_follows_state_and_level():
    bench = Bench()
    bench.explanation.toggle.value = True
    assert "ow-folded" not in bench.explanation.widget._dom_classes
    for level in (PUBLIC, STUDENTS):
        bench.explanation.level.value = level
        for scenario in (Scenario(), Scenario(arterial_saturation=0.8)):
            bench.model.scenario = scenario
            assert told(bench).count("<li>") == 5
            for sentence in explain(bench.model.reading, level):
                assert sentence in told(bench)
