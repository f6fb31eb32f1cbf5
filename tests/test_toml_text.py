"""TOML text: a table, or the reason with its line."""

from __future__ import annotations

import pytest

from assistant.toml_text import TomlError, table_in


def test_a_table_is_read() -> None:
    assert table_in('a = 1\n[b]\nc = "x"\n') == {"a": 1, "b": {"c": "x"}}


@pytest.mark.parametrize(
    ("text", "line"), [("a = 1\nb = \n", 2), ("a = 1\n\n[b", 3), ('a = """', 1), ("a = 1\na = 2\n", 2)]
)
def test_what_is_none_is_refused_with_its_line(text: str, line: int) -> None:
    with pytest.raises(TomlError) as refused:
        table_in(text)
    assert refused.value.line == line
    assert "(at" not in str(refused.value)
