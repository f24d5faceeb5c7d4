"""What each page is given: one frozen object a page, every field of which its template uses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from sunpantry.errors import Problem
from sunpantry.web.chart_contexts import PicturesPage, ValuesPage
from sunpantry.web.desk import Shown

if TYPE_CHECKING:
    from sunpantry.store import Clash, Saved, Summary, Version
    from sunpantry.web.glossary import Term
    from sunpantry.web.next_steps import NextStep
    from sunpantry.web.sections import Section
    from sunpantry.web.shelves import LoadGroup, PartOption
    from sunpantry.web.situations import Situation
    from sunpantry.web.whys import Whys


@dataclass(frozen=True)
class HomePage:
    """The first question.

    Parameters
    ----------
    situations : tuple of Situation
        Shipped designs to start from.
    designs : tuple of Summary
        Saved ones.
    library : tuple of LoadGroup
        Ordinary loads, to choose from while typing.
    problems : dict of str to Problem
        What has to be mended, by field.
    entered : mapping of str to str
        What was typed when it had to be mended.
    """

    template: ClassVar[str] = "home.html"

    situations: tuple[Situation, ...]
    designs: tuple[Summary, ...]
    library: tuple[LoadGroup, ...]
    problems: Mapping[str, Problem] = field(default_factory=dict)
    entered: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class DesignPage:
    """One design, as a story.

    Parameters
    ----------
    design_id : str
        Of the design.
    saved : Saved
        The current version.
    document : dict
        Its keys and values; with what was just typed where that has to be mended.
    shown : Shown
        The answer.
    whys : Whys
        Workings of its numbers.
    steps : tuple of NextStep
        What to do next.
    library : tuple of LoadGroup
        Ordinary loads.
    options : dict of str to tuple of PartOption
        Parts to choose from, by role.
    problems : dict of str to Problem
        What has to be mended, by key of the document.
    loose : tuple of Problem
        Problems that belong to no field on the page.
    links : int
        Read-only links that lead here.
    new_link : str
        One that was just made.
    read_only : bool
        Looked at through a link.
    secret : str
        Of that link.
    """

    template: ClassVar[str] = "design.html"

    design_id: str
    saved: Saved
    document: dict[str, Any]
    shown: Shown
    whys: Whys
    steps: tuple[NextStep, ...]
    library: tuple[LoadGroup, ...]
    options: Mapping[str, tuple[PartOption, ...]]
    problems: Mapping[str, Problem] = field(default_factory=dict)
    loose: tuple[Problem, ...] = ()
    links: int = 0
    new_link: str = ""
    read_only: bool = False
    secret: str = ""


@dataclass(frozen=True)
class WeatherPage:
    """Where the weather of a design is from.

    Parameters
    ----------
    design_id, name : str
        Of the design.
    base : int
        Version that is changed.
    current : str
        File in use; empty for the built-in table.
    files, folder : tuple of str, str
        Weather files that are there, and where.
    asking : str
        What is going on with a download; empty when none does.
    service : str
        Name of the service that can be asked.
    problem : str
        Why something did not work.
    """

    template: ClassVar[str] = "weather.html"

    design_id: str
    name: str
    base: int
    current: str
    files: tuple[str, ...]
    folder: str
    asking: str
    service: str
    problem: str = ""


@dataclass(frozen=True)
class WorkingsPage:
    """Every number with its working.

    Parameters
    ----------
    design_id, name, sections
        Of the design; workings by what they belong to, in the order of the page.
    """

    template: ClassVar[str] = "workings.html"

    design_id: str
    name: str
    sections: tuple[Section, ...]


@dataclass(frozen=True)
class HistoryPage:
    """All versions of a design.

    Parameters
    ----------
    design_id : str
        Of the design.
    versions : tuple of Version
        Newest first.
    """

    template: ClassVar[str] = "history.html"

    design_id: str
    versions: tuple[Version, ...]


@dataclass(frozen=True)
class Side:
    """One of two designs beside each other.

    Parameters
    ----------
    version : Version
        Which.
    shown : Shown
        Its answer.
    """

    version: Version
    shown: Shown


@dataclass(frozen=True)
class Difference:
    """One key in which two documents differ.

    Parameters
    ----------
    where : str
        The key.
    left, right : str
        What stands there.
    """

    where: str
    left: str
    right: str


@dataclass(frozen=True)
class ComparePage:
    """Two designs or versions beside each other.

    Parameters
    ----------
    sides : tuple of Side
        Left and right; empty until both are chosen.
    differences : tuple of Difference
        What differs.
    designs : tuple of Summary
        To choose from.
    left, right : str
        What is chosen, 'design' or 'design:version'.
    """

    template: ClassVar[str] = "compare.html"

    sides: tuple[Side, ...]
    differences: tuple[Difference, ...]
    designs: tuple[Summary, ...]
    left: str
    right: str


@dataclass(frozen=True)
class MergePage:
    """Somebody else saved in the meantime.

    Parameters
    ----------
    design_id : str
        Of the design.
    base, current : Version
        What was changed, and what is there now.
    mine : str
        What was to be saved (TOML).
    merged : str
        Both changes together, mine where the two clash (TOML); empty where that cannot be.
    clashes : tuple of Clash
        What both changed.
    """

    template: ClassVar[str] = "merge.html"

    design_id: str
    base: Version
    current: Version
    mine: str
    merged: str
    clashes: tuple[Clash, ...]


@dataclass(frozen=True)
class TextPage:
    """The document itself, to be changed by hand.

    Parameters
    ----------
    design_id : str
        Of the design.
    base : int
        Version that is changed.
    text : str
        TOML.
    problems : tuple of Problem
        What has to be mended.
    """

    template: ClassVar[str] = "text.html"

    design_id: str
    base: int
    text: str
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class GlossaryPage:
    """Words and what they mean.

    Parameters
    ----------
    terms : tuple of Term
        In order of the alphabet.
    """

    template: ClassVar[str] = "glossary.html"

    terms: tuple[Term, ...]


@dataclass(frozen=True)
class UnlockPage:
    """Where the token is given.

    Parameters
    ----------
    wrong : bool
        The last one was not right.
    """

    template: ClassVar[str] = "unlock.html"

    wrong: bool = False


@dataclass(frozen=True)
class FaultPage:
    """Why something cannot be done.

    Parameters
    ----------
    status : int
        Of the reply.
    message : str
        In plain words.
    problems : tuple of Problem
        What has to be mended.
    """

    template: ClassVar[str] = "fault.html"

    status: int
    message: str
    problems: tuple[Problem, ...] = ()


PAGES = (
    HomePage,
    DesignPage,
    PicturesPage,
    ValuesPage,
    WeatherPage,
    WorkingsPage,
    HistoryPage,
    ComparePage,
    MergePage,
    TextPage,
    GlossaryPage,
    UnlockPage,
    FaultPage,
)
