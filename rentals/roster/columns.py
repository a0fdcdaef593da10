"""Which column of a roster is what: heads matched in plain words, in the languages rosters usually
come in.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from .sheet import MAX_COLUMNS, RosterSheet, SheetRow, column_letters

#: What a roster can tell of a student, in the order shown; the label is what the screens call it.
FIELDS = {
    "name": "Name",
    "first_name": "First name",
    "last_name": "Last name",
    "email": "E-mail",
    "phone": "Phone",
    "street": "Street and number",
    "house": "House number",
    "street2": "Second address line",
    "city": "City",
    "postcode": "Postcode",
    "region": "Region",
    "country": "Country",
    "language": "Language of mails",
}
#: Headings of a roster to fill in: none that only parts another.
TEMPLATE = tuple(
    label for field, label in FIELDS.items() if field not in ("first_name", "last_name", "house")
)
_WORDS = {
    "name": (
        "name|full name|student|student name|name of student|participant|name surname|nom"
        " complet|nombre completo"
    ),
    "first_name": "first name|given name|forename|first|vorname|prénom|nombre|nome|voornaam",
    "last_name": (
        "last name|surname|family"
        " name|last|nachname|familienname|nom|apellido|apellidos|cognome|achternaam"
    ),
    "email": (
        "email|e mail|mail|email address|e mail address|mail address|email adresse|e mail"
        " adresse|courriel|correo|correo electrónico|adresse email|adresse e mail"
    ),
    "phone": (
        "phone|telephone|tel|mobile|cell|phone number|mobile number|telephone number|cell"
        " phone|mobile phone|telefon|telefonnummer|handy|téléphone|teléfono|telefono|telefoon"
    ),
    "street": (
        "street|address|street address|address line 1|address 1|address1|street and number|street"
        " name|postal"
        " address|straße|strasse|adresse|anschrift|rue|calle|dirección|via|indirizzo|straat"
    ),
    "house": "house number|house no|house|street number|hausnummer|huisnummer",
    "street2": (
        "address line 2|address 2|address2|street 2|street line 2|flat|apartment|adresszusatz"
    ),
    "city": (
        "city|town|post town|town or city|city"
        " town|place|ort|stadt|wohnort|ville|ciudad|città|plaats"
    ),
    "postcode": (
        "postcode|post code|postal code|zip|zip code|zipcode|plz|postleitzahl|code postal|código"
        " postal|cap"
    ),
    "region": (
        "region|state|county|province|state province|state or"
        " province|bundesland|kanton|région|provincia"
    ),
    "country": "country|land|country code|country of residence|nation|pays|país|paese",
    "language": (
        "language|mail language|preferred language|correspondence language|sprache|korrespondenz"
        "sprache|langue|idioma|lingua|língua|taal|språk|sprog|kieli|język|jazyk"
    ),
}
_HEAD_ROWS = 10


def plain(heading: str) -> str:
    """A heading as compared: lower case, accents and punctuation gone, what stands in brackets left
    out.
    """
    text = re.sub(r"[(\[{].*?[)\]}]", " ", heading)
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    text = unicodedata.normalize("NFKD", text).casefold().replace("ß", "ss")
    text = "".join(c for c in text if not unicodedata.combining(c))
    return " ".join(re.sub(r"[\W_]+", " ", text).split())


class Vocabulary:
    """The headings of one sort of table: for each field what the screens call it, and the words
    that people write, parted by bars. `in_a_row` tells a cell that no heading has, so that a table
    without heads is seen; `prefixes` may stand before any heading.
    """

    def __init__(
        self,
        labels: Mapping[str, str],
        words: Mapping[str, str],
        *,
        in_a_row: Callable[[str], bool],
        prefixes: Sequence[str] = (),
    ) -> None:
        self._known = {plain(word): name for name in words for word in words[name].split("|")}
        self._known |= {plain(label): name for name, label in labels.items()}
        self._prefixes, self.in_a_row = tuple(prefixes), in_a_row

    def field_of(self, heading: str) -> str:
        """The field a heading stands for, or "" where it is not known: ``"E-Mail *"`` is
        ``email``.
        """
        text = bare = plain(heading)
        for prefix in self._prefixes:
            bare = bare.removeprefix(prefix)
        return self._known.get(text) or self._known.get(bare, "")

    def fields_in(self, cells: Sequence[str]) -> dict[str, int]:
        """Fields of a row read as heads; of two columns with one meaning the left one counts."""
        fields: dict[str, int] = {}
        for index, cell in enumerate(cells):
            name = self.field_of(cell)
            if name and name not in fields:
                fields[name] = index
        return fields


STUDENTS = Vocabulary(
    FIELDS, _WORDS, in_a_row=lambda cell: "@" in cell, prefixes=("student ", "your ")
)


@dataclass(frozen=True)
class Columns:
    """Heads of a sheet and what each stands for.

    `fields` maps a field to the index of its column; `head_row` is the row the heads stand in, 0
    where there is none; a row may have `width` cells, those without a head empty.
    """

    heads: tuple[str, ...]
    fields: dict[str, int]
    head_row: int
    width: int = MAX_COLUMNS

    @property
    def ignored(self) -> tuple[str, ...]:
        """Heads of the columns that are not used, as written."""
        used = set(self.fields.values())
        return tuple(head for index, head in enumerate(self.heads) if index not in used and head)

    @property
    def lacking(self) -> tuple[str, ...]:
        """What no roster can do without and this one does not show: names, e-mail."""
        lacks = []
        if not {"name", "first_name", "last_name"} & set(self.fields):
            lacks.append("the name")
        if "email" not in self.fields:
            lacks.append("the e-mail address")
        return tuple(lacks)


def match_columns(sheet: RosterSheet, words: Vocabulary = STUDENTS) -> Columns:
    """Find the row of heads within the first rows and match each; a title above it does not
    disturb.
    """
    best = max(
        sheet.rows[:_HEAD_ROWS], key=lambda row: (len(words.fields_in(row.cells)), -row.number)
    )
    fields = words.fields_in(best.cells)
    width = max(len(row.cells) for row in sheet.rows)
    if not fields and any(words.in_a_row(cell) for cell in sheet.rows[0].cells):
        return Columns(tuple(f"Column {column_letters(i)}" for i in range(width)), {}, 0)
    head = best if fields else sheet.rows[0]
    heads = [head.cells[i] if i < len(head.cells) else "" for i in range(width)]
    below = rows_below(sheet, head.number)
    for index, text in enumerate(heads[: head.width]):
        filled = sum(index < len(row.cells) and bool(row.cells[index]) for row in below)
        if not text and 2 * filled > len(below):
            heads[index] = f"Column {column_letters(index)}"
    # Stray cells beyond the heads are no column, however many rows have them: they come from a
    # comma that should have been quoted.
    while heads and not heads[-1]:
        heads.pop()
    return Columns(tuple(heads), fields, head.number, _usual_width(head, len(heads), below))


def _usual_width(head: SheetRow, heads: int, below: Sequence[SheetRow]) -> int:
    """How many cells a sound row may have. Some programs end every row but that of the heads with
    an empty cell: what most rows do, with nothing in it, is no fault.
    """
    widths = Counter(row.width for row in below if len(row.cells) <= heads)
    usual, rows = widths.most_common(1)[0] if widths else (0, 0)
    return max(head.width, heads, usual if 2 * rows > len(below) else 0)


def rows_below(sheet: RosterSheet, head_row: int) -> tuple[SheetRow, ...]:
    """The rows that hold students: all below the heads."""
    return tuple(row for row in sheet.rows if row.number > head_row)
