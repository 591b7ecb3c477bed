"""The table of names and symbols in DEVELOPERS.md names what is there."""

import re
from dataclasses import fields, is_dataclass
from importlib import import_module
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[1] / "DEVELOPERS.md"
TABLE = PAGE.read_text("utf-8").split("## Names and symbols")[1].split("\n## ")[0]
NAMED = re.findall(r"`((?:body|meter|oxygen|study|teach)\.[\w.]+)`", TABLE)


def test_the_table_is_found():
    assert len(NAMED) > 20


@pytest.mark.parametrize("path", NAMED)
def test_a_name_of_the_table_is_in_the_code(path):
    package, module, name, *field = path.split(".")
    found = getattr(import_module(f"oximetry_workbook.{package}.{module}"), name)
    if field:
        described = [each.name for each in fields(found)] if is_dataclass(found) else []
        assert field[0] in described or hasattr(found, field[0])
