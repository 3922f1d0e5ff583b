"""One line of the calculation sheet: a formula with its inputs, its result, and where each comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Term:
    """One input: symbol (may be empty), meaning, value with its unit, and source."""

    symbol: str
    meaning: str
    value: str
    source: str

    @property
    def text(self) -> str:
        """The input in words: 'T1 = 310 N*m published for dry'."""
        return f"{self.symbol} = {self.value} ({self.meaning})" if self.symbol else f"{self.meaning}: {self.value}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One figure of the plan. `formula` is empty where nothing is computed."""

    title: str
    formula: str
    terms: tuple[Term, ...]
    result: str
    source: str

    @property
    def line(self) -> str:
        """The whole reason in one line."""
        parts = [part for part in (self.formula, ", ".join(term.text for term in self.terms)) if part]
        return f"{self.title}: {'; '.join(parts)} -> {self.result} [{self.source}]"

    @property
    def document(self) -> dict[str, Any]:
        """The reason as plain data."""
        return {
            "title": self.title,
            "formula": self.formula,
            "terms": [
                {"symbol": term.symbol, "meaning": term.meaning, "value": term.value, "source": term.source}
                for term in self.terms
            ],
            "result": self.result,
            "source": self.source,
        }
