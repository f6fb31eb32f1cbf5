"""What a second model finds of what was heard decides between rivals, and tells talk from what is for the assistant."""

from __future__ import annotations

from assistant.dialogue.asking import FIRST_OR_SECOND
from assistant.dialogue.turn import Setting
from assistant.dialogue.weigh import weights_for
from assistant.dialogue.weights import RATED_WEIGHTS, WEIGHTS
from assistant.meaning import kinds as k
from assistant.meaning.understand import understand
from assistant.utterance import Hypothesis, Utterance
from tests.dialogue.talking import Talk

# As in noise: a second of it is worth about fifty nats, a word of the grammar leads the background by five.
PER_S, LEAD_A_WORD = 50.0, 5.0


def heard(*rivals: tuple[str, float, float | None], ahead: float = 0.0, surprise: float = 0.5) -> Utterance:
    """A second of noisy speech: each hypothesis with how far it is behind the best, and its rating. The second model
    writes four words of its own, each of them with that surprise."""
    hypotheses = tuple(
        Hypothesis(words=tuple(text.split()), log_likelihood=PER_S - behind, rated=rated)
        for text, behind, rated in rivals
    )
    behind = Hypothesis(words=("the",), log_likelihood=PER_S - LEAD_A_WORD * len(hypotheses[0].words))
    freely = Hypothesis(words=("Or", "quite", "something", "else."), log_likelihood=-4 * surprise)
    return Utterance(
        hypotheses=hypotheses, background=behind, seconds=1.0, engine="vosk", freely=freely, freely_ahead=ahead
    )


def test_what_the_other_model_finds_far_likelier_is_taken(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(("gauge reads sixteen hundred", 0.0, -25.0), ("gauge reads eighteen hundred", 0.5, -3.0)))
    assert (turn.outcome, talk.psi) == ("taken", 1800)


def test_where_both_are_as_likely_to_it_too_it_is_asked(setting: Setting) -> None:
    talk = Talk(setting)
    turn = talk.hears(heard(("gauge reads sixteen hundred", 0.0, -5.0), ("gauge reads eighteen hundred", 0.3, -5.0)))
    assert (turn.outcome, turn.reply) == (
        "asked",
        f"Sixteen hundred, or eighteen hundred?{FIRST_OR_SECOND}",
    )


def test_a_value_that_was_not_rated_is_behind_those_that_were(setting: Setting) -> None:
    talk = Talk(setting)
    rivals = (("gauge reads sixteen hundred", 0.0, None), ("gauge reads eighteen hundred", 0.3, -2.0))
    turn = talk.hears(heard(*rivals, ("gauge reads nineteen hundred", 0.5, -22.0)))
    assert (turn.outcome, talk.psi) == ("taken", 1800)


def test_what_it_would_rather_write_something_else_for_is_not_taken(setting: Setting) -> None:
    alike, other = Talk(setting), Talk(setting)
    said = ("gauge reads sixteen hundred", 0.0, -3.0)
    assert alike.hears(heard(said)).outcome == "taken"
    assert other.hears(heard(said, ahead=30.0)).outcome != "taken"
    assert other.psi is None


def test_a_problem_told_in_one_clear_word_is_not_left_alone(setting: Setting) -> None:
    """In quiet speech, where both models find other words about as likely, and the background even likelier."""
    quiet = 80.0
    ours = Hypothesis(words=("hissing",), log_likelihood=quiet, rated=-6.6)
    talk = Hypothesis(words=("getting",), log_likelihood=quiet - 0.7, rated=-6.3)
    utterance = Utterance(
        hypotheses=(ours, talk),
        background=Hypothesis(words=("getting",), log_likelihood=quiet + 2.8),
        seconds=1.0,
        engine="vosk",
        freely=Hypothesis(words=("Kissing.",), log_likelihood=-0.9),
        freely_ahead=5.4,
    )
    assert Talk(setting).hears(utterance).understood == (k.Problem(what="hissing"),)
    assert Talk(setting).hears(utterance).outcome == "taken"


def test_a_word_in_which_the_other_model_hears_no_speech_is_not_taken(setting: Setting) -> None:
    """A gust of wind heard as "help": the background fits better still."""

    def gust(freely: Hypothesis) -> Utterance:
        rivals = (("help", 0.0), ("no", 0.3))
        found = tuple(Hypothesis(words=(word,), log_likelihood=50 - behind, rated=-9.0) for word, behind in rivals)
        behind = Hypothesis(words=("the",), log_likelihood=58.5)
        return Utterance(hypotheses=found, background=behind, seconds=1.0, engine="vosk", freely=freely)

    said = Talk(setting).hears(gust(Hypothesis(words=("Help.",), log_likelihood=-3.0)))
    nothing = Talk(setting).hears(gust(Hypothesis(words=(), log_likelihood=-9.5)))
    assert said.outcome != "ignored"
    assert nothing.outcome == "ignored"


def test_words_of_one_meaning_have_the_best_rating_among_them(setting: Setting) -> None:
    utterance = heard(
        ("gauge reads fifteen hundred", 0.0, -9.0),
        ("gauge reads one five zero zero", 1.0, -4.0),
        ("the gauge reads fifteen hundred", 2.0, None),
    )
    (reading,) = understand(utterance, setting.grammar, setting.kit)
    assert reading.rated == -4.0


def test_ears_without_a_second_model_have_their_own_weights() -> None:
    rated = heard(("yes", 0.0, -1.0))
    assert weights_for(rated) is RATED_WEIGHTS
    assert weights_for(Utterance(hypotheses=rated.hypotheses, engine="vosk")) is WEIGHTS
