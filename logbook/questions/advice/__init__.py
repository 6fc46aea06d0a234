"""Which setup the shop's own record favours for a job, by how much, on what evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import ConfigDict, Field, ValidationInfo, field_validator

from logbook.questions.parameters import Amount, InWindow, Metavar, Offered, known_in
from logbook.questions.question import Question, refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from logbook.questions.advice.asking import JobTold
    from logbook.questions.advice.result import AdviceResult
    from logbook.store import Store


def _shades(store: Store) -> Mapping[str, str]:  # noqa: ARG001 - the list is the trade's
    from logbook.vocabulary.fabrics import FABRIC_SHADES  # late: not needed for --help

    return {each.value: each.label for each in FABRIC_SHADES.choices}


class AdviceParameters(InWindow):
    """The job to advise on; every other parameter is a part of the setup now."""

    model_config = ConfigDict(extra="allow")

    fabric: Annotated[
        str,
        Field(title="Fabric", description="As named in the book."),
        Metavar("F"),
        Offered(known_in("fabric")),
    ]
    design: Annotated[
        str | None,
        Field(title="Design", description="A design that is in the book."),
        Metavar("D"),
        Offered(known_in("design"), unset="Any design"),
    ] = None
    density: Annotated[
        Amount,
        Field(
            title="Density, stitches/mm²",
            description="Stitches/mm² of the densest square centimetre, where there is no design.",
        ),
        Metavar("X"),
    ] = None
    fabric_shade: Annotated[
        str | None,
        Field(title="Fabric shade", description="light, mid or dark."),
        Metavar("S"),
        Offered(_shades, unset="Any shade"),
    ] = None

    @field_validator("density")
    @classmethod
    def _not_both(cls, density: float | None, told: ValidationInfo) -> float | None:
        if density is not None and told.data.get("design") is not None:
            raise ValueError("cannot be given with a design: give design or density, not both")
        return density

    @classmethod
    def further(cls) -> tuple[str, ...]:
        """Every part of a setup that can be told."""
        from logbook.questions.advice.asking import PARTS  # late: not needed for --help

        return PARTS

    def told(self) -> JobTold:
        """The job as it was told.

        Raises
        ------
        ParameterError
            A part of the setup is told twice, or is a parameter of its own.
        """
        return {
            "fabric": self.fabric,
            "design": self.design,
            "density": self.density,
            "fabric_shade": self.fabric_shade,
            "setup": self.setup(),
        }

    def setup(self) -> dict[str, Any]:
        """The parts of the setup that were told, by the run sheet's names.

        Raises
        ------
        ParameterError
            One is told twice, or is a parameter of its own.
        """
        told: dict[str, Any] = {}
        for given, value in (self.model_extra or {}).items():
            name = given.strip().lower().replace("-", "_")
            if name in told:
                raise refused({name: f"{name} is given twice"})
            if name in type(self).model_fields:
                raise refused({name: f"write {name}, not {given}"})
            told[name] = value
        return told


def ask(store: Store, parameters: AdviceParameters) -> AdviceResult:
    """Suggest changes of a setup for a job.

    Raises
    ------
    ParameterError
        A part of the setup cannot be read, or is none.
    TooLittleData
        No run is on the fabric, or too few defects are on record.
    """
    from logbook.errors import RecordError  # late: not needed for --help
    from logbook.questions.advice.asking import advise

    try:
        return advise(store, window=parameters.window(), **parameters.told())
    except RecordError as problem:
        raise refused(problem.reasons) from problem


QUESTION = Question(
    name="advise",
    title="Plan a setup",
    help="Suggest setup changes for a job, by the shop's own record.",
    asks="Which setup does the shop's own record favour for this job?",
    parameters=AdviceParameters,
    ask=ask,
    room=__name__,
    waiting="Looking at like jobs…",
    when_empty="Once runs name their fabric, setups are suggested here from your own record.",
)
