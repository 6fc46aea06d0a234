import pytest

from logbook.questions.review.actions import (
    FIRST_REMEDIES,
    actions_for,
    cautions_for,
    cautions_of,
)
from logbook.questions.review.judging import Judged
from logbook.vocabulary.defects import DEFECT_KINDS, kind


def judged(name, verdict="as_usual", watch=False):
    return Judged(
        kind(name), 9, 100.0, 0.09, (0.04, 0.16), 9, 900.0, 0.01, (0.0, 0.02), 12,
        verdict=verdict, watch=watch,
    )  # fmt: skip


def test_kinds_called_more_than_usual_come_before_those_to_be_watched():
    found = actions_for(
        [
            judged("gaps", watch=True),
            judged("looping"),
            judged("puckering", "more_than_usual"),
            judged("sinking", "less_than_usual"),
        ]
    )
    assert [(each.kind, each.because) for each in found] == [
        ("puckering", "more_than_usual"),
        ("gaps", "watch"),
    ]


def test_a_suggestion_gives_the_first_remedies_as_practice_and_no_more():
    (action,) = actions_for([judged("thread_breaks", "more_than_usual")])
    assert action.remedies == kind("thread_breaks").remedies[:FIRST_REMEDIES]
    assert action.says.startswith(
        "Thread breaks came up more than usual. What the trade usually tries first, in this "
        "order: (1) Stop the machine"
    )
    assert "the makers' instructions come first" in action.says


def test_the_list_has_an_end():
    names = [each.name for each in DEFECT_KINDS if each.charged_to_setup][:8]
    assert len(actions_for([judged(name, "more_than_usual") for name in names])) == 5


@pytest.mark.parametrize("each", DEFECT_KINDS, ids=lambda each: each.name)
def test_no_remedy_puts_a_hand_near_a_needle_without_the_caution(each):
    words = " ".join(each.remedies[:FIRST_REMEDIES]).lower()
    if "needle" in words or "machine" in words:
        assert "moving_needles" in cautions_of(each)
    if "spray" in words:
        assert "spray_adhesive" in cautions_of(each)
    if "fusible" in words or "steam" in words:
        assert "heat" in cautions_of(each)


def test_a_broken_needle_brings_its_own_caution():
    assert "broken_needle" in cautions_of(kind("needle_breaks"))


def test_cautions_come_in_full_and_the_certificate_is_always_declined():
    said = cautions_for(actions_for([judged("gaps", "more_than_usual")]), ())
    assert any(text.startswith("Keep hands, hair") for text in said)
    assert said[-1].startswith("This log is a record")


def test_nothing_to_do_needs_no_caution():
    assert cautions_for((), ()) == ()
