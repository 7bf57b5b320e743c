"""A sheet: one drawing at its true size, and what has to be said about it on every page it is printed on."""

from dataclasses import dataclass

from scribeline.marking.drafting import scale_words
from scribeline.marking.shapes import Drawing


@dataclass(frozen=True)
class Issue:
    """What a sheet was made from and when.

    record : name of the engine record
    revision : which state of the record, and of the plan where one was used
    date : day of issue, as 2026-11-25
    invented : the record is a demonstration; every page says so
    """

    record: str
    revision: str
    date: str
    invented: bool = False


@dataclass(frozen=True)
class Sheet:
    """A drawing to be put on paper.

    drawing : in millimetres on paper; `drawing.scale` 1.0 is a template, anything else is marked as no template
    datum : what its lengths are measured from, a few words
    cautions : the kinds of output it counts as, for the cautions it must carry (see `scribeline.data.cautions`)
    statements : what every page of it must say in bold, such as a limit that was switched off
    words_only : a list or a card to write on: it begins at the top of the page, and no DXF is made of it
    book : sheets of one book are printed as one file of this name
    whole : it must not be cut into tiles; SheetError on a paper that is too small
    printed : False for what only a machine takes, as DXF: too large for paper
    """

    drawing: Drawing
    datum: str
    cautions: tuple[str, ...] = ("template",)
    whole: bool = False
    words_only: bool = False
    book: str = ""
    statements: tuple[str, ...] = ()
    printed: bool = True

    @property
    def name(self) -> str:
        return self.drawing.name

    @property
    def template(self) -> bool:
        """Whether lines may be taken from it onto metal."""
        return self.drawing.scale == 1.0

    @property
    def scale(self) -> str:
        """What stands in the title block."""
        if self.template:
            return "FULL SIZE 1:1"
        ratio = scale_words(self.drawing.scale).rpartition("(")[2].rstrip(")")
        return f"{ratio} - NOT A TEMPLATE"
