"""One self-contained HTML page: no scripts, nothing from outside, prints well on A4."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from logbook.analysis.review import ReviewResult
from logbook.answers.questions import ReviewCharts
from logbook.charts import paper
from logbook.charts.theme import LIGHT
from logbook.errors import IntakeError
from logbook.shop import Shop
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import ABSENT, interval_short, money, number, rate_short

if TYPE_CHECKING:
    from logbook.analysis.review import Defect

__all__ = ["review_page", "write_review"]

VERDICTS = {
    "more_than_usual": "more than usual",
    "less_than_usual": "less than usual",
    "as_usual": "as usual",
    "cannot_say": "cannot say",
}


def review_page(result: ReviewResult, charts: ReviewCharts, shop: Shop) -> str:
    """Write a weekly review as one HTML page.

    Parameters
    ----------
    result, charts
        The review and what illustrates it.
    shop
        Whose name stands at the head.

    Returns
    -------
    str
        HTML; every text of users is escaped.
    """
    page = _environment().get_template("review.html.j2")
    return page.render(
        review=result,
        shop=shop,
        colours=LIGHT,
        rows=[
            _row(each)
            for each in ((result.any_defect,) if result.any_defect else ()) + result.defects
        ],
        loud=[each.says for each in result.defects if _loud(each)],
        apart=[each.says for each in result.kept_apart],
        pareto=Markup(paper.pareto(charts.pareto)) if charts.pareto else None,
        charts=[(each.finding(), Markup(paper.control(each))) for each in charts.control],
        held_caution=BROKEN_NEEDLE_HELD,
        by_cost=result.ordered_by == "cost",
    )


def write_review(path: Path, result: ReviewResult, charts: ReviewCharts, shop: Shop) -> None:
    """Write the page to a file, as a whole or not at all.

    Raises
    ------
    IntakeError
        The file cannot be written.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_text(review_page(result, charts, shop), encoding="utf-8")
        part.replace(path)
    except OSError as cause:
        part.unlink(missing_ok=True)
        raise IntakeError(
            f"{path} cannot be written: {cause.strerror or cause}.", "name another place"
        ) from cause


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("logbook.report"),
        autoescape=select_autoescape(("html", "html.j2")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _loud(defect: Defect) -> bool:
    judged = defect.judged
    return judged.watch or judged.verdict in ("more_than_usual", "less_than_usual")


def _row(defect: Defect) -> dict[str, str]:
    judged = defect.judged
    measure = judged.kind.measure
    pieces = measure == "pieces"
    exposure = number(judged.exposure) if pieces else f"{judged.exposure / 1e6:,.2f} M stitches"
    cost = defect.cost.cost if defect.cost is not None else float("nan")
    return {
        "label": judged.kind.label,
        "counted": f"{number(judged.count)} {'of' if pieces else 'in'} {exposure}",
        "rate": rate_short(measure, judged.rate),
        "interval": interval_short(measure, judged.interval),
        "before": rate_short(measure, judged.rate_before),
        "verdict": VERDICTS[judged.verdict] + (", watch" if judged.watch else ""),
        "tone": judged.verdict,
        "cost": ABSENT if cost != cost else money(cost, "").strip(),
    }
