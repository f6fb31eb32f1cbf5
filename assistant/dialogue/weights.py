"""Every number of the decision model, in one place: how much each sort of evidence counts, and what mistakes cost.

Natural logarithms unless the name says otherwise. Those under "fitted" come from the tuning voices and phrasings of the
speech benchmark; those under "chosen" are our judgement. `docs/decision.md` explains them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """What the parts of P(reading | sound, state) weigh."""

    # Fitted. The recogniser's log likelihoods count frames as independent, which they are not.
    acoustic: float = 0.79
    # Fitted at an earlier time, on what was heard in quiet alone: there they are worth more. Between is between; per
    # second of sound.
    acoustic_clear: float = 1.2
    noisy_per_s: float = 55.0
    clear_per_s: float = 65.0
    # Fitted: each word, and that there is more than one meaning: the sound of other people is heard as more of
    # both.
    word: float = 0.106
    more_meanings: float = -2.24
    # Fitted: the reading that came first in both hearings, where there were two.
    agreed: float = 1.2
    # Fitted: that none of the readings is what was said: the likelier, the less log likelihood there is in a second of
    # sound (noise lowers it), and the closer the second reading comes to the best.
    unheard_at_per_s: float = 4.9
    unheard_slope: float = 0.065
    unheard_by_rival: float = 0.119
    rivals_end_at: float = -6.0  # the recogniser's lattice beam
    # Fitted: the same where two hearings agree on what comes first, and where they do not.
    unheard_agreed: float = -0.556
    unheard_divided: float = 0.453
    # Fitted: how far the chosen plausibilities below are to be believed.
    plausible: float = 0.786
    # Chosen: the same for ears whose likelihoods are not on vosk's scale.
    unheard_of_others: float = -5.5
    # Fitted: other people's talk, where a hypothesis is no sentence of the grammar.
    talk: float = -1.18
    # Fitted: the same by how far the best reading leads, for each of its words, before the commonest words in any order
    # heard in the same sound; `background` is where it does not lead at all, chosen a little below the fitted 1.97,
    # with which one recorded sample was asked again.
    background: float = 1.8
    background_slope: float = 1.18
    background_agreed: float = -0.622
    # Fitted: both the likelier, the more log likelihood there is in a second of sound than here: in clear speech a lead
    # means more.
    talk_at_per_s: float = 60.0
    talk_by_clearness: float = 0.059
    background_by_clearness: float = 0.038
    # Chosen on the tuning speech: one short word fits some common word almost as well, however clearly it was said; the
    # more words, the less that helps.
    background_head_start: float = 8.6
    # Fitted: what other people's talk is heard as, for each kind that the best reading has: seldom as a vital sign, a
    # step, an answer, a gauge or a device, whose words talk hardly has; rather as minutes. What takes back a value is
    # left out: it was fitted with the minutes, and a clear "cancel that" was then asked for again.
    talk_as_vital: float = -1.2
    talk_as_move: float = -1.2
    talk_as_reading: float = -0.75
    talk_as_minutes: float = 1.3
    talk_as_request: float = 0.5
    # Chosen, where a second model rates: a leak that is told of in one clear short word must not go unheard. In noise
    # and by radio much of the talk that is taken wrongly is heard as a problem, so there it counts as a request does.
    talk_as_clear_problem: float = 0.0
    # Only where a second model rated what was heard (RATED_WEIGHTS, fitted together with the others there): what a
    # reading's rating behind the best rated counts; what it counts for talk and for "unheard" that the model would
    # itself write something likelier than any of the hypotheses, in all and for each word of the best reading, and
    # how little sure it is of that, for each of its words.
    rated: float = 0.0
    rated_lacking: float = 2.0  # what was not rated is so much behind the worst that was
    talk_ahead: float = 0.0
    talk_ahead_a_word: float = 0.0
    talk_vague: float = 0.0
    # Chosen: the second model hears no speech at all.
    talk_no_speech: float = 4.0
    unheard_rated: float = 0.0
    unheard_ahead: float = 0.0
    unheard_ahead_a_word: float = 0.0
    unheard_vague: float = 0.0
    ahead_ends_at: float = 40.0
    ahead_a_word_ends_at: float = 6.0
    vague_ends_at: float = 4.0
    # Chosen: other people's talk where a key was held or the call word said. Nobody holds a key to talk to another, but
    # some forget to let it go.
    talk_addressed: float = -2.5

    # Chosen: what may be said at any time but has nothing to be about now.
    out_of_place: float = -2.5
    # Chosen: an answer to the question that waits, or to the step in hand.
    expected: float = 2.5
    one_of_the_choices: float = 2.0
    # Chosen: the choice named first was the likelier one when it was heard before.
    first_of_the_choices: float = 1.0
    # Chosen: how often what is said after a question is none of what was heard before it.
    said_anew: float = 0.03
    # Chosen: a bare number begun anew after "no" ("sixty seven no ten"): people say "oh" for a nought far oftener, and
    # what was begun anew leaves out what was said before it.
    begun_anew: float = -3.0
    # Chosen: a correction while what was just taken is being read back, and for so long after it.
    corrects: float = 2.0
    corrected_within_s: float = 60.0
    # Chosen: how far a corrected gauge reading is from the one it corrects.
    corrected_sd_bar: float = 25.0
    # Chosen: what `checks.refusal` would refuse.
    impossible: float = -6.0
    # Chosen: a flow that the regulator has no setting for; one outside the range of the device in use.
    no_setting: float = -4.0
    outside_device: float = -1.0
    # Chosen: less than a litre a minute, which is for infants, and sounds like "eight litres".
    trickle: float = -1.0
    # Chosen: a gauge pressure that is no multiple of 50 psi or 5 bar, of 10 psi or 1 bar.
    between_marks: float = -1.0
    between_fine_marks: float = -3.0
    # Chosen: how often a value is not where the last ones put it, though rightly heard (another cylinder, a leak, a
    # change of state); it bounds what the last values can say against a new one.
    surprise_share: float = 0.04
    # Chosen: a vital sign outside what is usual in somebody who is conscious and breathes.
    hardly_alive: float = -4.0
    # Chosen: minutes to hand-over outside of what is usual.
    fewest_minutes: float = 3.0
    below_fewest_minutes: float = -1.0
    most_minutes: float = 300.0
    beyond_most_minutes: float = -2.5
    # Chosen: the spread of a vital sign between two notes, in its own unit.
    saturation_sd: float = 4.0
    heart_rate_sd: float = 15.0
    respiratory_rate_sd: float = 6.0
    pressure_sd_mmhg: float = 20.0
    # Chosen: a cylinder or patient that is neither known nor the next number.
    unknown_name: float = -2.5
    # Chosen: free words for the record are rarer than the talk that is taken for them.
    note: float = -3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What the outcomes cost, in questions: one question to the rescuer, answered at once, is 1.

    A wrong value that is taken is read back, and the rescuer may hear it; one who does not may run a patient dry. A
    question or a step wrongly taken is heard at once and does no more harm than an interruption.
    """

    wrong_value: float = 15.0
    wrong_move: float = 6.0
    # The same where all was to be said again: one voice in one place misleads the ears twice in the same way.
    wrong_move_again: float = 15.0
    # A step of the procedure in hand; one that would open a valve is asked for by the procedure itself.
    wrong_step: float = 2.0
    question: float = 1.0
    # The question offered none of what was meant: it is denied, and the value said again.
    question_in_vain: float = 2.0
    # To take a bare number that was begun anew after "no", however clear: people say "oh" for a nought, which is heard
    # so, and what was said before it would be lost. It is asked for.
    begun_anew: float = 3.0
    # How often the answer is not caught and the question has to be asked once more: yes or no, first or second.
    yes_not_caught: float = 0.05
    choice_not_caught: float = 0.15
    # Trouble with the equipment that is asked about: its cure comes later by a question.
    late_cure: float = 0.6
    say_again: float = 1.8
    missed: float = 8.0
    # Speaking up when nobody spoke to the assistant.
    intrusion: float = 3.0


WEIGHTS = Weights()
# Where a second model rated what was heard: fitted anew, all together, but for what is chosen above.
RATED_WEIGHTS = Weights(
    acoustic=0.546,
    word=0.529,
    more_meanings=-1.3,
    agreed=0.609,
    unheard_slope=0.116,
    unheard_by_rival=-0.204,
    unheard_agreed=-2.01,
    unheard_divided=0.096,
    talk=-0.922,
    background=-0.929,
    background_slope=1.15,
    background_agreed=0.402,
    talk_by_clearness=0.053,
    background_by_clearness=0.077,
    background_head_start=8.67,
    talk_as_vital=-1.48,
    talk_as_move=-0.456,
    talk_as_reading=-1.01,
    talk_as_minutes=1.57,
    talk_as_request=0.658,
    talk_as_clear_problem=-3.2,
    # Chosen between the fitted 0.59 and the 1.2 of ears alone, which was fitted on quiet speech alone: they make the
    # tuning speech about as likely, and with 0.59 a recorded "seventy minutes" was asked for beside "seventeen".
    acoustic_clear=1.0,
    rated=0.234,
    talk_ahead=0.236,
    talk_ahead_a_word=0.099,
    talk_vague=-0.988,
    unheard_rated=-0.934,
    unheard_ahead=0.221,
    unheard_ahead_a_word=-0.67,
    unheard_vague=0.577,
)
COSTS = Costs()
