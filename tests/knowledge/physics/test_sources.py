"""Every source a formula names can be looked up."""

import inspect
import re

SOURCE_ID = re.compile(r"\b[a-z]+(?:-[a-z0-9]+)*-(?:[a-z]*\d+[a-z0-9]*)\b")


def test_every_source_of_a_formula_is_in_the_table(formulas, base) -> None:
    for function in formulas.values():
        said = inspect.getdoc(function).partition("Sources:")[2].partition("checked by")[0]
        assert said
        assert [id for id in SOURCE_ID.findall(said) if id not in base.sources] == []
