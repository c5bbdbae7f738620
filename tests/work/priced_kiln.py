"""A kiln with its prices, for whatever is said of a price: the rates of a shop, a price file, the
kiln in cable and in pipe.
"""

import datetime
from functools import cache
from pathlib import Path

from whywire.engine.basics.reading import read_yaml
from whywire.engine.work.buying import bought
from whywire.engine.work.money import priced
from whywire.engine.work.opening import How, opened, with_changes
from whywire.engine.work.price_file import Prices, read_prices
from whywire.engine.work.takeoff import take_off
from whywire.engine.work.tasks import ordered

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"
TODAY = datetime.date(2026, 11, 30)
HEAD = "part,unit,pack,price,date\n"
RATES = {  # what a licensed one and a helper cost an hour together: 92 + 46 = 138
    "wage of the licensed": "92.00",
    "wage of the helper": "46.00",
    "overhead": "18.00",
    "margin": "30",
    "consumables": "3",
    "use tax on parts": "7",
    "permit": "85.00",
    "travel": "45",
}
UNITS = {"margin": "%", "consumables": "%", "use tax on parts": "%", "permit": "job"}
KILN = {
    ("4-3 NM-B", "25"): "150.00",
    ("4-3 NM-B", "50"): "285.00",
    ("4-3 NM-B", "100"): "540.00",
    ("wire cap", "1"): "0.60",
    ("cable connector", "1"): "2.40",
    ("cable connector", "25"): "42.00",
    ("cable staple", "100"): "11.90",
    ("2-pole 60 A breaker", "1"): "31.75",
    ("lock-off", "1"): "13.50",
    ("label sheet", "1"): "4.80",
    ("6 AWG THHN/THWN-2 copper", "1"): "1.28",
    ("6 AWG THHN/THWN-2 copper", "500"): "520.00",
    ("10 AWG THHN/THWN-2 copper green", "1"): "0.52",
    ("EMT 3/4", "10"): "13.90",
    ("EMT coupling 3/4", "1"): "1.25",
    ("EMT connector 3/4", "1"): "1.30",
    ("EMT strap 3/4", "1"): "0.45",
}
UNIT_OF_FEET = ("NM-B", "copper", "EMT 3/4")


def lines(rates: dict[str, str] = RATES, parts: dict[tuple[str, str], str] = KILN) -> str:
    out = [
        f"{n},{UNITS.get(n, 'min' if n == 'travel' else 'h')},,{p},2026-11-25"
        for n, p in rates.items()
    ]
    for (name, pack), price in parts.items():
        unit = (
            "ft"
            if any(name.endswith(e) for e in ("NM-B", "copper", "green")) or name == "EMT 3/4"
            else "each"
        )
        out.append(f"{name},{unit},{pack},{price},2026-11-25")
    return HEAD + "\n".join(out) + "\n"


@cache
def knowledge():
    return opened(JOBS / "kiln.yaml", How()).knowledge


def prices(tmp_path: Path, text: str) -> Prices:
    (tmp_path / "mine.csv").write_text(text)
    return read_prices(tmp_path / "mine.csv", knowledge(), TODAY)


def of(body, own: Prices):
    job = opened(body, How())
    off = take_off(job)
    return job, priced(off, bought(off, own), ordered(job), own)


def kiln_body(changes: dict | None = None):
    return with_changes(read_yaml((JOBS / "kiln.yaml").read_text(), "kiln"), changes or {})


PIPE = {
    "circuits": {
        "kiln": {
            "conductors": {"size": "6 AWG", "insulation": "THWN-2", "EGC size": "10 AWG"},
            "supply termination": {"marking": "75 °C"},
            "load termination": {"marking": "75 °C"},
            "segments": [
                {
                    "method": "EMT",
                    "trade size": "3/4",
                    "length": "40 ft",
                    "place": "basement",
                    "location": "dry",
                    "bundle": "none",
                    "bends": "180°",
                }
            ],
        }
    }
}
FOUR = {"circuits": {"kiln": {"conductors": {"size": "4 AWG", "EGC size": "8 AWG"}}}}
