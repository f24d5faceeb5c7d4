"""What a rule says, and what a rule is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import IntEnum

from sunpantry.figures import Figure, Given
from sunpantry.match.case import Case
from sunpantry.phrases import phrase


class Severity(IntEnum):
    """How bad it is; the worst comes first."""

    DANGER = 0
    WILL_NOT_WORK = 1
    WILL_DISAPPOINT = 2
    WORTH_KNOWING = 3
    FINE = 4

    @property
    def words(self) -> str:
        """As printed: 'will not work'."""
        return _WORDS[self]

    @property
    def is_hard(self) -> bool:
        """A system with such a finding is never proposed."""
        return self <= Severity.WILL_NOT_WORK


_WORDS = {
    Severity.DANGER: phrase("danger"),
    Severity.WILL_NOT_WORK: phrase("will not work"),
    Severity.WILL_DISAPPOINT: phrase("will disappoint"),
    Severity.WORTH_KNOWING: phrase("worth knowing"),
    Severity.FINE: phrase("fine"),
}


@dataclass(frozen=True, slots=True)
class Need:
    """A figure that another part must have on its label.

    Parameters
    ----------
    role : str
        'panel', 'battery', 'controller', 'inverter' or 'converter'.
    field : str
        Attribute of the nameplate.
    relation : str
        'at least', 'at most' or 'is'.
    value : float, str or bool
        In the unit of the attribute.
    """

    role: str
    field: str
    relation: str
    value: float | str | bool


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that cures a finding.

    Parameters
    ----------
    sentence : str
        What to do, in plain words.
    case : Case
        The case after the change. A part that has to be another one stands there with the
        figures it needs.
    needs : tuple of Need
        What that other part must have on its label; empty when no part is exchanged.
    """

    sentence: str
    case: Case
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says of one case.

    Parameters
    ----------
    severity : Severity
        How bad it is.
    sentence : str
        For a person who is no electrician.
    about : tuple of str
        Roles of the parts, or names of the loads.
    figures : tuple of Figure
        The numbers behind it, each with its working.
    limit : Given or None
        What the first figure is held against.
    remedy : Remedy or None
        The smallest change that cures it; ``None`` where nothing is to be cured, or only a
        new simulation could tell.
    options : tuple of Remedy
        Changes to try, the smallest first.
    rule, source : str
        Name of the rule and what it rests on.
    """

    severity: Severity
    sentence: str
    about: tuple[str, ...]
    figures: tuple[Figure, ...] = ()
    limit: Given | None = None
    remedy: Remedy | None = None
    options: tuple[Remedy, ...] = ()
    rule: str = ""
    source: str = ""


Said = Iterator[Finding]
Harmless = Callable[[Case], bool]


@dataclass(frozen=True, slots=True)
class Rule:
    """One question put to a case.

    Parameters
    ----------
    slug : str
        Name of the rule.
    asks : str
        The question, in plain words.
    limit : str
        Where the line is drawn.
    source : str
        What the limit rests on.
    worst : Severity
        The worst it can say.
    say : callable
        Yields the findings for a case, without rule, source and remedy.
    breaks : callable or None
        Quick answer whether ``say`` has a hard finding; ``None`` for a soft rule.
    """

    slug: str
    asks: str
    limit: str
    source: str
    worst: Severity
    say: Callable[[Case], Said]
    breaks: Callable[[Case], bool] | None = None

    def check(self, case: Case, *, harmless: Harmless | None = None) -> tuple[Finding, ...]:
        """Findings for a case, each with the first of its options that cures it.

        Parameters
        ----------
        case : Case
            The case.
        harmless : callable, optional
            Whether a changed case has nothing bad that this one has not; such a change is
            taken before one that does harm, and a soft finding is not cured by harm.

        Returns
        -------
        tuple of Finding
            Empty when the rule does not apply.
        """
        return tuple(
            replace(
                found,
                rule=self.slug,
                source=self.source,
                remedy=self._remedy(found, harmless),
                options=(),
            )
            for found in self.say(case)
        )

    def cured(self, found: Finding, case: Case) -> bool:
        """Whether a case no longer has a finding of this rule.

        Parameters
        ----------
        found : Finding
            As it was before the change.
        case : Case
            After the change.

        Returns
        -------
        bool
            True when the rule says nothing of these parts any more, or at most something
            milder that is only worth knowing.
        """
        mild = max(Severity.WORTH_KNOWING, Severity(min(found.severity + 1, Severity.FINE)))
        return all(again.severity >= mild for again in self.say(case) if again.about == found.about)

    def _remedy(self, found: Finding, harmless: Harmless | None) -> Remedy | None:
        first = None
        for option in found.options:
            if not self.cured(found, option.case):
                continue
            if harmless is None or harmless(option.case):
                return option
            first = first or option
        return first if found.severity.is_hard else None


def rule(
    slug: str,
    *,
    asks: str,
    limit: str,
    source: str,
    worst: Severity,
    breaks: Callable[[Case], bool] | None = None,
) -> Callable[[Callable[[Case], Said]], Rule]:
    """Make a :class:`Rule` of the function that says the findings.

    Parameters
    ----------
    slug, asks, limit, source, worst, breaks
        See :class:`Rule`.

    Returns
    -------
    callable
        The decorator.
    """

    def made(say: Callable[[Case], Said]) -> Rule:
        return Rule(slug, asks, limit, source, worst, say, breaks)

    return made


def worked(
    name: str,
    value: float,
    unit: str,
    formula: str,
    source: str,
    *inputs: tuple[str, float | str, str],
) -> Figure:
    """Write a figure with its inputs as plain triples.

    Parameters
    ----------
    name, value, unit, formula, source
        See :class:`sunpantry.figures.Figure`.
    inputs : tuple of (str, float or str, str)
        Name, value and unit of each input.

    Returns
    -------
    Figure
        The figure.
    """
    return Figure(name, value, unit, formula, tuple(Given(*one) for one in inputs), source)
