"""Closed lists of the run sheet: what may be chosen, what it is called, how the trade spells it."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

# Hyphen-minus, the Unicode hyphens and dashes, the minus sign, underscore and both slashes.
_JOINERS = re.compile(r"[-\u2010-\u2015\u2212_/\\]+")
SPELLINGS_KEPT = 16_384
"""A shop has some hundreds of names and asks for the same ones over and over."""
_PUNCTUATION = re.compile(r"[^\w\s]")


@dataclass(frozen=True, slots=True)
class Choice:
    """One value of a closed list: as stored, as shown, and what it means.

    ``spellings`` are others that the trade has for it, in normal form, commas between.
    """

    value: str
    label: str
    says: str = ""
    spellings: str = ""


@dataclass(frozen=True, slots=True)
class ChoiceList:
    """The closed list of one column, with the spellings that are understood on import."""

    column: str
    label: str
    choices: tuple[Choice, ...]

    @property
    def synonyms(self) -> dict[str, str]:
        """Spellings of the trade and the values that they mean; not values and labels."""
        return {
            spelling: choice.value
            for choice in self.choices
            if choice.spellings
            for spelling in choice.spellings.split(", ")
        }

    @property
    def values(self) -> tuple[str, ...]:
        """The values as they are stored, in the order in which they are offered."""
        return tuple(choice.value for choice in self.choices)

    def label_of(self, value: str) -> str:
        """What a page shows for a stored value; an unknown value is shown as it is."""
        return next((choice.label for choice in self.choices if choice.value == value), value)

    def understand(self, text: str) -> str | None:
        """Read a spelling of the trade as one of the values.

        Parameters
        ----------
        text
            What somebody wrote; case, spaces, hyphens, underscores and punctuation are ignored.

        Returns
        -------
        str or None
            The value meant, or None where the spelling is not known. An empty text is None:
            not recorded is not the same as none used.
        """
        return _meanings(self).get(_spelling(text))


@lru_cache(maxsize=SPELLINGS_KEPT)
def normalise(text: str) -> str:
    """Bring a written word to the form in which spellings are compared.

    Lower case, compatibility forms and non-breaking spaces made plain, hyphens, underscores
    and slashes read as a space, runs of spaces as one, no space at either end.
    """
    # Lowering can leave a form that folds further, so the folding is done on both sides.
    plain = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).lower())
    return " ".join(_JOINERS.sub(" ", plain).split())


@lru_cache(maxsize=SPELLINGS_KEPT)
def _spelling(text: str) -> str:
    return normalise(_PUNCTUATION.sub(" ", normalise(text.replace("&", " and "))))


@lru_cache
def _meanings(choices: ChoiceList) -> dict[str, str]:
    """Every spelling that is understood: values and labels before the trade's others."""
    meant = dict(choices.synonyms)
    for choice in reversed(choices.choices):
        meant |= dict.fromkeys((_spelling(choice.value), _spelling(choice.label)), choice.value)
    return meant
