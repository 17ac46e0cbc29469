"""The document tree: what stands in a report, in which order, without a word about how it is drawn.

A renderer (web page, paper) walks the parts and gives each its form. All text is plain text: a renderer escapes it and
never reads markup out of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from evenground.report.pictures import Picture

Align = Literal["left", "right"]


@dataclass(frozen=True)
class Heading:
    """A heading.

    Attributes
    ----------
    text : str
        What it says.
    level : {2, 3}
        2 opens a page of the report, 3 a piece of it; the document's title is level 1.
    """

    text: str
    level: Literal[2, 3] = 2


@dataclass(frozen=True)
class Paragraph:
    """Running text.

    Attributes
    ----------
    text : str
        What it says.
    role : {"body", "lead", "small"}
        Lead text answers the question of the page; small text is a side remark.
    """

    text: str
    role: Literal["body", "lead", "small"] = "body"


@dataclass(frozen=True)
class Fact:
    """A label and what is to be said about it.

    Attributes
    ----------
    label, text : str
        The unit is part of the text.
    """

    label: str
    text: str


@dataclass(frozen=True)
class Facts:
    """Labelled statements, in order.

    Attributes
    ----------
    rows : tuple of Fact
        Statements.
    role : {"plain", "answers"}
        Answers are the large sentences of the first page.
    """

    rows: tuple[Fact, ...]
    role: Literal["plain", "answers"] = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences.

    Attributes
    ----------
    items : tuple of str
        One sentence each.
    """

    items: tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """A column of a table.

    Attributes
    ----------
    name : str
        Heading.
    unit : str
        Unit of all its numbers; empty for words.
    align : {"left", "right"}
        Numbers stand to the right.
    share : float
        Width relative to the other columns [1]; 0 means as wide as its content.
    """

    name: str
    unit: str = ""
    align: Align = "left"
    share: float = 0.0


@dataclass(frozen=True)
class Table:
    """A table; the first cell of each row names the row.

    Attributes
    ----------
    caption : str
        What it shows.
    columns : tuple of Column
        Headings with units.
    rows : tuple of tuple of str
        Cells as they are printed.
    note : str
        What a reader must know beside it.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        wrong = [row for row in self.rows if len(row) != len(self.columns)]
        if wrong:
            raise ValueError(f"table {self.caption!r}: row {wrong[0]!r} does not have {len(self.columns)} cells.")


@dataclass(frozen=True)
class Figure:
    """A picture with its words.

    Attributes
    ----------
    name : str
        Short name, unique in the document: letters, digits and hyphens.
    picture : Picture
        The data to draw.
    alt : str
        What the picture shows, for someone who cannot see it.
    caption : str
        What it means.
    """

    name: str
    picture: Picture
    alt: str
    caption: str


@dataclass(frozen=True)
class Photo:
    """A photograph, named by its file.

    Attributes
    ----------
    file : str
        Its place inside the trial folder.
    alt : str
        What is known of what it shows, for someone who cannot see it.
    caption : str
        Where and when it was taken.
    """

    file: str
    alt: str
    caption: str


@dataclass(frozen=True)
class Photos:
    """Photographs in rows; those of a row belong side by side.

    Attributes
    ----------
    caption : str
        What they show.
    rows : tuple of tuple of Photo
        Photographs.
    note : str
        What a reader must know beside them.
    """

    caption: str
    rows: tuple[tuple[Photo, ...], ...]
    note: str = ""

    @property
    def across(self) -> int:
        """Photographs of the longest row [1]."""
        return max((len(row) for row in self.rows), default=1)


@dataclass(frozen=True)
class Note:
    """A boxed remark.

    Attributes
    ----------
    label, text : str
        Its first words, set strongly, and the rest.
    """

    label: str
    text: str


@dataclass(frozen=True)
class PageBreak:
    """A new page on paper, a new section on a screen."""


Part = Heading | Paragraph | Facts | Bullets | Table | Figure | Photos | Note | PageBreak


@dataclass(frozen=True)
class Document:
    """A whole document.

    Attributes
    ----------
    title : str
        Title.
    subtitle : str
        Trial, farm and season.
    language : str
        Language of the text, such as "en".
    banner : str
        A line shown on every page; empty for none.
    footer : str
        What stands at the foot of every page.
    parts : tuple of Part
        Content in order.
    """

    title: str
    subtitle: str
    language: str
    banner: str
    footer: str
    parts: tuple[Part, ...]

    @property
    def pages(self) -> tuple[tuple[Part, ...], ...]:
        """The parts between page breaks."""
        pages: list[list[Part]] = [[]]
        for part in self.parts:
            if isinstance(part, PageBreak):
                pages.append([])
            else:
                pages[-1].append(part)
        return tuple(tuple(page) for page in pages if page)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures in order."""
        return tuple(part for part in self.parts if isinstance(part, Figure))

    @property
    def photographs(self) -> tuple[str, ...]:
        """The file of every photograph, each once, in order."""
        rows = (row for part in self.parts if isinstance(part, Photos) for row in part.rows)
        return tuple(dict.fromkeys(photo.file for row in rows for photo in row))
