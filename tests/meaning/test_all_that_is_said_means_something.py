"""Sentences drawn from the grammar's rules, as they are spoken: each has a meaning by its likeliest derivation.

A branch without one would be heard, and left alone as other people's talk.
"""

from __future__ import annotations

import pytest

from assistant.app import setting_for
from assistant.meaning.registry import TwoOwnersError, built_rules, meanings_of
from assistant.oxygen.kit import default_kit

SETTING = setting_for(default_kit())
RULES = (
    *("vital_sign", "gauge_reading", "flow_rate", "time_to_handover", "cylinder_size", "cylinder_change"),
    *("delivery_device", "question", "problem", "step", "answer", "correction", "alarm_heard", "heard_it", "altitude"),
    *("temperature", "target_saturation", "sized_reading", "device_at_flow", "asked", "trouble", "sign_and_word"),
)
DRAWN = 600


@pytest.mark.parametrize("rule", RULES)
def test_what_is_drawn_from_a_rule_has_a_meaning(rule: str) -> None:
    without = []
    for sentence in SETTING.grammar.sentences(11, DRAWN, rule=rule):
        derivations = SETTING.grammar.parse(tuple(sentence.split()), rule=rule)
        try:
            if not meanings_of(derivations[0], SETTING.kit):
                without.append(sentence)
        except TwoOwnersError:
            continue
    assert without == []


def test_a_rule_without_a_builder_would_be_found() -> None:
    assert "lead_in" not in built_rules()
    assert meanings_of(SETTING.grammar.parse(("about",), rule="lead_in")[0], SETTING.kit) == ()
