"""What changed in the setup, each change in a sentence."""

from __future__ import annotations

from logbook.questions.review.changes import Change, NewFile
from logbook.questions.review.words.kinds import weeks_words
from logbook.runs.factors import factor_label
from logbook.wording import number, percent


def change_sentence(change: Change) -> str:
    """Say what changed, by how much, and what that rests on."""
    if isinstance(change, NewFile):
        return _new_file(change)
    head = f"{factor_label(change.factor)}: {change.level}"
    weeks = weeks_words(change.weeks_before)
    share, share_before = percent(change.share), percent(change.share_before)
    rests_on = f"{number(change.pieces)} of {number(change.all_pieces)} pieces sewn"
    before = f"{number(change.pieces_before)} of {number(change.all_pieces_before)}"
    moved = f"{share} of the week ({rests_on}), from {share_before} {weeks} ({before})"
    return {
        "new": f"{head} is new, with {share} of the week ({rests_on}).",
        "gone": f"{head} has no pieces this week, after {share_before} {weeks} ({before}).",
        "up": f"{head} rose to {moved}.",
        "down": f"{head} fell to {moved}.",
    }[change.what]


def _new_file(change: NewFile) -> str:
    sewn = change.pieces
    counted = f"{number(sewn)} {'piece' if sewn == 1 else 'pieces'} sewn from it this week"
    rests_on = counted if sewn else "no pieces sewn from it are recorded for this week"
    old, new = change.old, change.new
    return (
        f"Design {change.level} has a new stitch file since {new.since:%A}: "
        f"{number(new.stitches)} stitches instead of {number(old.stitches)}, "
        f"{new.density_densest:.1f} stitches/mm² in the densest place instead of "
        f"{old.density_densest:.1f} ({rests_on})."
    )
