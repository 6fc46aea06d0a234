"""The fields of the JSON that a comparison of suppliers answers, typed."""

from __future__ import annotations

from typing import Literal, NotRequired

from typing_extensions import TypedDict

from logbook.kernels.setup_model.levels import Verdict


class CountedJson(TypedDict):
    """What was counted; of pieces and stitches, null is what the kind is not counted against."""

    runs: int
    pieces_inspected: int | None
    stitches_sewn: float | None
    count: int
    per_100k_stitches: float | None


class StratumJson(CountedJson):
    """One supplier on one job."""

    fabric: str | None
    backing: str | None
    weight_band: str | None
    supplier: str
    rate: float | None
    interval: list[float] | None
    like_for_like: bool


class MantelHaenszelJson(TypedDict):
    """The plain check over shared jobs: ratios and difference of pieces, or of events."""

    odds_ratio: NotRequired[float | None]
    odds_ratio_interval: NotRequired[list[float] | None]
    risk_ratio: NotRequired[float | None]
    risk_ratio_interval: NotRequired[list[float] | None]
    risk_difference: NotRequired[float | None]
    risk_difference_interval: NotRequired[list[float] | None]
    rate_ratio: NotRequired[float | None]
    rate_ratio_interval: NotRequired[list[float] | None]
    rate_difference: NotRequired[float | None]
    rate_difference_interval: NotRequired[list[float] | None]
    homogeneity_p: float | None
    strata: int
    supplier_exposure: float
    reference_exposure: float


class OnBackingJson(TypedDict):
    """One supplier against the reference on one backing."""

    backing: str
    rate: float | None
    reference_rate: float | None
    difference: float | None
    difference_interval: list[float] | None
    pieces_compared: float | None


class LateChangeJson(TypedDict):
    """A supplier that has changed in the last weeks: ``ratio`` of odds (rates) to before."""

    supplier: str
    since: str
    weeks: int
    runs: int
    ratio: float | None


class DoubtsJson(TypedDict):
    """Backing by backing, what has changed lately, and what something unseen may do."""

    on_backings: list[OnBackingJson]
    worse_on: list[str]
    changed_lately: list[LateChangeJson]
    e_value: float | None
    e_value_of_interval: float | None
    work_ratio: float | None
    control_ratio: float | None
    control_interval: list[float] | None
    verdict_withheld: Verdict | None


class SupplierJson(CountedJson, DoubtsJson):
    """One supplier, against the reference where it is not that itself."""

    supplier: str
    lots: int
    crude_rate: float | None
    crude_interval: list[float] | None
    crude_misleads: bool
    like_for_like_share: float | None
    like_for_like_rate: float | None
    like_for_like_interval: list[float] | None
    difference: float | None
    difference_interval: list[float] | None
    mantel_haenszel: MantelHaenszelJson | None
    verdict: Verdict | None
    pieces_needed: int | None
    lots_needed: int | None
    lots_standard_deviation: float | None
    pieces_compared: float | None
    cost_per_good_piece: float | None
    cost_interval: list[float] | None
    cost_like_for_like: bool
    cost_per_good_piece_recorded: float | None
    saving_per_100_pieces: float | None
    saving_interval: list[float] | None
    price_saving_per_100_pieces: float | None
    backing_cost_per_piece: float | None
    pieces_spoiled: float | None


class AnswerJson(TypedDict):
    """Rates as fractions (events per stitch), null for what cannot be said."""

    defect: str
    measure: Literal["pieces", "events"]
    backing: str | None
    reference: str | None
    margin: float | None
    level: float
    currency: str
    strata: list[StratumJson]
    suppliers: list[SupplierJson]
    lines: list[str]
    warnings: list[str]
