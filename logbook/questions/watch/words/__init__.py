"""What is said of a watch: the news first, in one line, then each finding in full."""

from __future__ import annotations

from logbook.questions.table import Section
from logbook.questions.watch.result import FOUND, SUSPECTED, Finding, WatchResult
from logbook.questions.watch.words import findings
from logbook.wording import number

PRACTICE = (
    "What to look at first is common practice, for a trained person to weigh; the makers' "
    "instructions come first."
)
__all__ = ["headline", "notes", "pressing", "sections", "sentences", "title"]


def title(result: WatchResult) -> str:
    """Say which week."""
    return f"what is different, {result.week}"


def headline(result: WatchResult) -> str:
    """Name the first news in one line; say plainly where there is none."""
    if result.looked_at.levels == 0:
        return "The record is too short to say what is unusual: it takes some six weeks."
    news = result.news
    if not news:
        known = len(result.findings)
        beside = f" {number(known)} known of before." if known else ""
        return f"Nothing new departs from what was to be expected.{beside}"
    first = news[0]
    more = f" And {number(len(news) - 1)} more." if len(news) > 1 else ""
    return f"{findings.news(first)}.{more}"


def pressing(result: WatchResult) -> tuple[str, ...]:  # noqa: ARG001 - each finding says its own
    """Nothing misleads that a finding does not say itself."""
    return ()


def sentences(result: WatchResult) -> tuple[str, ...]:  # noqa: ARG001 - the sections hold them
    """Each finding has a section of its own."""
    return ()


def sections(result: WatchResult) -> tuple[Section, ...]:
    """A section a finding, with where to look first; the cautions of all stand together."""
    told = [section(each, result.currency) for each in result.findings]
    if cautions := findings.cautions(*result.findings):
        told.append(Section("Before anything is done about it", (PRACTICE,), cautions=cautions))
    return tuple(told)


def section(each: Finding, currency: str) -> Section:
    """One finding in full."""
    told = [findings.says(each, currency), findings.known(each), findings.beside(each)]
    told.append(findings.tells_apart(each) or "")
    told.append(" ".join(("Look first:", *findings.look_first(each))))
    return Section(
        f"{findings.where(each.level)}, {each.kind.label.lower()} ({grade(each)})",
        tuple(line for line in told if line),
    )


def grade(each: Finding) -> str:
    """Say how sure it is, or that it is known."""
    if each.known is not None:
        return "known"
    return "found" if each.grade == "found" else "suspected"


def notes(result: WatchResult) -> tuple[str, ...]:
    """What was looked at, and how it is to be taken."""
    seen = result.looked_at
    if seen.levels == 0:
        return ()
    return (
        f"Looked at: {number(seen.levels)} machines, lots, fabrics, people and other levels of "
        f"{number(seen.columns)} columns, over {number(seen.windows)} stretches of one to eight "
        f"weeks, for {number(seen.kinds)} kinds of defect, up and down.",
        f"Found is what luck alone shows less than once in {number(FOUND)} weeks anywhere in all "
        f"this; suspected, once in {number(SUSPECTED)} weeks or less often. A departure is no "
        "cause: it says where to look.",
        "What was to be expected is learnt from the runs before, like for like: the same fabric, "
        "design, setup and people.",
    )
