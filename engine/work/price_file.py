"""A contractor's own prices: a CSV of parts and rates, read with every fault of it at once; and a
starter with invented numbers, marked as such.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from ..basics.errors import Collector, Fault, Faults, Place, suggest
from ..basics.reading import decode, read_bytes
from ..language.knowledge import Knowledge
from .cutting import Pack
from .takeoff import PARTS

COLUMNS = ("part", "unit", "pack", "price", "date")
CURRENCY, USUAL_CURRENCY = "currency", "USD"
RATES = "rates"  # the table of what a price needs beside parts
LIFE = "life of a price"
NOTHING_SAID = "-"  # in a cell of the table of rates
TODAY = datetime.date.today
INVENTED = "INVENTED: no shop should keep these numbers"
MONEY = re.compile(r"\d{1,9}(\.\d{1,4})?")


@dataclass
class Prices:
    """What a price file says."""

    name: str = ""
    packs: dict[str, list[Pack]] = field(default_factory=dict)
    rates: dict[str, Fraction] = field(default_factory=dict)
    told: set[str] = field(default_factory=set)  # rates that stand in the file
    shares: set[str] = field(default_factory=set)  # rates that are shares of something
    currency: str = USUAL_CURRENCY
    youngest: datetime.date | None = None
    oldest: datetime.date | None = None
    invented: bool = False

    def rate(self, name: str) -> Fraction | None:
        """A rate; None where the file has none and nothing is taken for it."""
        return self.rates.get(name)


class _Reading:
    """Reads one price file, and goes on after each fault."""

    def __init__(self, knowledge: Knowledge, name: str, today: datetime.date) -> None:
        self.parts = {str(row["part"]): row for row in knowledge.tables[PARTS].rows}
        self.known = {str(row["rate"]): row for row in knowledge.tables[RATES].rows}
        self.name, self.today = name, today
        self.faults = Collector()
        self.prices = Prices(name)
        self.prices.shares = {rate for rate, row in self.known.items() if row["unit"] == "%"}
        self.seen: dict[tuple[str, Fraction], tuple[int, Fraction]] = {}
        self.dates: list[tuple[Place, str, datetime.date]] = []
        self.first_currency = ""

    def fault(self, code: str, line: int, what: str, todo: str, column: int = 1) -> None:
        self.faults.add(code, Place(self.name, line, column), what, todo)

    def read(self, text: str) -> Prices:
        """Everything the file says. Raises Faults with all that is wrong in it."""
        self.prices.invented = INVENTED in text
        kept = "\n".join("" if line.lstrip().startswith("#") else line for line in text.split("\n"))
        rows = [(n, row) for n, row in _rows(kept) if any(cell.strip() for cell in row)]
        if not rows:
            self.fault(
                "no-prices",
                1,
                "this file says nothing",
                "whywire prices new FILE writes one to begin with",
            )
            self.faults.stop()
        (_, header), *lines = rows
        header = [cell.strip().lower() for cell in header]
        if self._see_header(header):
            for number, cells in lines:
                self._row(number, dict(zip(header, cells)), cells, header)
            self._see_wanted()
            self._see_age()
        self.faults.stop()
        return self.prices

    def _see_header(self, header: list[str]) -> bool:
        """Whether the columns are those of a price file."""
        missing = [column for column in COLUMNS if column not in header]
        for column in missing:
            self.fault(
                "price-column",
                1,
                f'there is no column "{column}"',
                "the first line is " + ",".join(COLUMNS) + f" and, if you like, {CURRENCY}",
            )
        for at, column in enumerate(header):
            if column not in (*COLUMNS, CURRENCY):
                todo = (
                    suggest(column, (*COLUMNS, CURRENCY)) if column else "name it or leave it out"
                )
                self.fault("price-column", 1, f'a price file has no column "{column}"', todo)
            elif column in header[:at]:
                self.fault(
                    "price-column", 1, f'the column "{column}" stands twice', "leave one out"
                )
        return not missing

    def _row(self, number: int, said: dict[str, str], cells: list[str], header: list[str]) -> None:
        """One line of the file."""
        if len(cells) != len(header):
            more = len(cells) > len(header)
            hint = "a price is written 1.85, with a point" if more else "leave no cell out"
            self.fault(
                "ragged-row",
                number,
                f"this line has {len(cells)} cells and the first line {len(header)}",
                hint,
            )
            return
        said = {column: cell.strip() for column, cell in said.items()}
        before = len(self.faults.items)
        name = said["part"]
        row = self.parts.get(name) or self.known.get(name)
        if row is None:
            self.fault(
                "no-such-part",
                number,
                f'no part and no rate is called "{name}"',
                suggest(name, [*self.parts, *self.known]),
            )
        elif said["unit"] != str(row["unit"]):
            unit = row["unit"]
            self.fault(
                "price-unit",
                number,
                f'{name} goes by "{unit}", not by "{said["unit"]}"',
                f"write {unit}",
            )
        self._see_currency(number, said.get(CURRENCY, ""))
        amount = self._money(number, said["price"], name)
        self._date(number, said["date"])
        if name in self.known:
            self._rate(number, name, amount)
        else:
            self._part(number, name, said["pack"], amount, len(self.faults.items) == before)

    def _rate(self, number: int, name: str, amount: Fraction | None) -> None:
        if name in self.prices.told:
            self.fault(
                "price-twice", number, f"{name} stands in this file already", "leave one out"
            )
        self.prices.told.add(name)
        if amount is None:
            return
        share = self.known[name]["unit"] == "%"
        if name == "margin" and amount >= 100:
            self.fault(
                "price-margin",
                number,
                "a margin is a share of the price, and less than 100 %",
                "a markup of 43 % on cost is a margin of 30 %",
            )
        if name == "billable share" and not 0 < amount <= 100:
            self.fault(
                "price-share",
                number,
                "of the paid hours more than 0 % and at most 100 % are billed",
                "write 75",
            )
        self.prices.rates[name] = amount / 100 if share else amount

    def _part(
        self, number: int, name: str, pack: str, amount: Fraction | None, sound: bool
    ) -> None:
        if not re.fullmatch(r"\d{1,6}(\.\d{1,3})?", pack) or not Fraction(pack):
            self.fault(
                "price-pack",
                number,
                f'"{pack}" is no pack',
                "write how many, or how many feet, are in it: 100 (1 is each, or by the foot)",
            )
            return
        if amount is None:
            return
        size = Fraction(pack)
        if (name, size) in self.seen:
            line, before = self.seen[name, size]
            other = " at another price" if before != amount else ""
            self.fault(
                "price-twice",
                number,
                f"{name} in a pack of {pack} stands in line {line} already{other}",
                "leave one out",
            )
            return
        self.seen[name, size] = number, amount
        if sound:
            self.prices.packs.setdefault(name, []).append(Pack(size, amount))

    def _money(self, number: int, text: str, name: str) -> Fraction | None:
        """A price as a fraction; None, with a fault, where it is none."""
        plain = text.replace(" ", "")
        if MONEY.fullmatch(plain):
            return Fraction(plain)
        if plain.startswith(("-", "−")):
            self.fault(
                "price-negative",
                number,
                f'the price of {name} is below nothing: "{text}"',
                "write what it costs; a return is no price",
            )
        elif re.fullmatch(r"\d+,\d{1,2}", plain):
            self.fault(
                "price-comma", number, f'"{text}" has a comma', f"write {plain.replace(',', '.')}"
            )
        elif not plain:
            self.fault(
                "price-form",
                number,
                f"{name} has no price",
                "write one, or leave the line out: it is then listed as missing",
            )
        else:
            self.fault(
                "price-form",
                number,
                f'"{text}" is no price',
                "write digits and a point: 1.85, and the currency in a column of its own",
            )
        return None

    def _see_currency(self, number: int, text: str) -> None:
        said = text.upper() or USUAL_CURRENCY
        if not re.fullmatch("[A-Z]{3}", said):
            self.fault(
                "price-currency", number, f'"{text}" is no currency', "write three letters: USD"
            )
            return
        self.first_currency = self.first_currency or said
        self.prices.currency = self.first_currency
        if said != self.first_currency:
            self.fault(
                "price-currency",
                number,
                f"this line is in {said}, and those before in {self.first_currency}",
                "one file has one currency",
            )

    def _date(self, number: int, text: str) -> None:
        try:
            day = datetime.date.fromisoformat(text)
        except ValueError:
            self.fault("price-date", number, f'"{text}" is no day', "write it as 2026-11-25")
            return
        if day > self.today:
            self.fault(
                "price-date",
                number,
                f"{text} is yet to come",
                "write the day on which the price was told",
            )
            return
        self.dates.append((Place(self.name, number), text, day))

    # ---- the file as a whole
    def _see_wanted(self) -> None:
        """See that no rate is missing without which there is no price, and that the tax is told
        once.
        """
        for name, row in self.known.items():
            if name in self.prices.told:
                continue
            if row["wanted"] == "yes":
                self.fault(
                    "rate-missing",
                    1,
                    f'there is no "{name}": {row["says"]}',
                    f"add a line: {name},{row['unit']},,...",
                )
            elif str(row["usual"]) != NOTHING_SAID:
                value = Fraction(str(row["usual"]))
                self.prices.rates[name] = value / 100 if row["unit"] == "%" else value
        taxes = [
            name for name in ("use tax on parts", "sales tax", "no tax") if name in self.prices.told
        ]
        if len(taxes) > 1:
            self.fault(
                "price-tax",
                1,
                "two taxes at once: " + " and ".join(taxes),
                "write the one that place and contract ask for",
            )

    def _see_age(self) -> None:
        """See that no price is older than prices live."""
        life = int(self.prices.rates.get(LIFE, Fraction(30)))
        for place, text, day in self.dates:
            if (self.today - day).days > life:
                self.faults.add(
                    "price-old",
                    place,
                    f"this price of {text} is older than {life} days",
                    "ask again and write the new day; or let prices live longer (life of a price)",
                )
        days = [day for _, _, day in self.dates]
        self.prices.youngest, self.prices.oldest = max(days, default=None), min(days, default=None)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """The lines of a CSV, each with its number in the file."""
    reader = csv.reader(io.StringIO(text))
    return [(reader.line_num, row) for row in reader]


def read_prices(
    path: str | Path, knowledge: Knowledge, today: datetime.date | None = None
) -> Prices:
    """The prices of a file. Raises Faults with everything that is wrong in it."""
    name = str(path)
    try:
        text = decode(read_bytes(Path(path), name), name)
    except Fault as fault:
        raise Faults([fault]) from None
    return prices_in(text, name, knowledge, today)


def prices_in(
    text: str, name: str, knowledge: Knowledge, today: datetime.date | None = None
) -> Prices:
    """The prices that *text* says, of a file called *name*. Raises Faults as `read_prices` does."""
    try:
        return _Reading(knowledge, name, today or TODAY()).read(text)
    except Fault as fault:
        raise Faults([fault]) from None
    except csv.Error as error:
        raise Faults(
            [Fault("not-csv", Place(name), f"this is no table: {error}", "is this the right file?")]
        ) from None


def starter(knowledge: Knowledge, today: datetime.date | None = None) -> str:
    """A price file to begin with: every rate and every part with an invented price."""
    day = (today or TODAY()).isoformat()
    lines = [
        f"# {INVENTED}. Write your own over every one, and take this line out.",
        "# unit ft: pack is the feet of a coil or a stick, 1 is by the foot.",
        "# unit each: pack is how many are in it.",
        ",".join(COLUMNS),
    ]
    for row in knowledge.tables[RATES].rows:
        if str(row["invented"]) != NOTHING_SAID:
            lines.append(f"{row['rate']},{row['unit']},,{row['invented']},{day}")
    for row in knowledge.tables[PARTS].rows:
        base = Fraction(str(row["invented"]))
        for pack in str(row["packs"]).split():
            price = base * Fraction(pack) * _rebate(Fraction(pack))
            lines.append(f"{row['part']},{row['unit']},{pack},{float(round(price, 2)):.2f},{day}")
    return "\n".join(lines) + "\n"


def _rebate(pack: Fraction) -> Fraction:
    """A larger pack is cheaper by the piece, here as at a counter."""
    return max(Fraction(1, 2), 1 - pack / 1000)
