"""The age of a needle, made of the runs whenever it is asked for: it is written down nowhere.

A run that comes late, or is corrected or withdrawn, thus leaves no age behind that is wrong.
"""

from __future__ import annotations

from logbook.runs.columns import NEEDLE_AGE

_MACHINE = "PARTITION BY site, machine"
_IN_ORDER = "ORDER BY finished_at, run_ref"


def with_needle_age(stitches: str, *, among: str = "") -> str:
    """SQL of the runs with the needle's age as a column besides.

    The age is what a head had sewn since the last new needle on its machine, when the run began.
    It is not known before the first change on record, nor after a run whose stitches are not
    known, nor on a machine without a name. A run without its number of heads counts with the most
    that ever ran on its machine.

    Parameters
    ----------
    stitches
        SQL of the stitches of a run, over all heads.
    among
        Condition on whole machines; all of them where it is empty.
    """
    return f"""(
SELECT * EXCLUDE (_per_head, _needle), CASE
    WHEN _needle = 0 OR machine IS NULL THEN NULL
    WHEN count(*) OVER earlier > count(_per_head) OVER earlier THEN NULL
    ELSE coalesce(sum(_per_head) OVER earlier, 0) END AS {NEEDLE_AGE.name}
FROM (SELECT *,
    {stitches} / coalesce(head_count, max(head_count) OVER ({_MACHINE})) AS _per_head,
    sum(CASE WHEN needle_changed THEN 1 ELSE 0 END) OVER ({_MACHINE} {_IN_ORDER}
        ROWS UNBOUNDED PRECEDING) AS _needle
    FROM runs{f" WHERE {among}" if among else ""}) AS needles
WINDOW earlier AS ({_MACHINE}, _needle {_IN_ORDER} ROWS BETWEEN UNBOUNDED PRECEDING
    AND 1 PRECEDING)) AS aged"""


WITHOUT = f"(SELECT *, CAST(NULL AS DOUBLE PRECISION) AS {NEEDLE_AGE.name} FROM runs) AS aged"
"""The same where no change is on record: it costs nothing."""
