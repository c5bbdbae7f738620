"""The command line: parse, call, show. Only this module prints."""
from __future__ import annotations
import argparse, sys

def main(argv=None) -> int:
    p = argparse.ArgumentParser(prog="whywire")
    s = p.add_subparsers(dest="command", required=True)
    c = s.add_parser("check"); c.add_argument("packs", nargs="*"); c.add_argument("--edition", default="2023"); c.add_argument("--only")
    a = p.parse_args(argv)
    from ..engine.errors import Faults
    try:
        from .check import check
        got = check(tuple(a.packs), a.edition, a.only)
    except Faults as f:
        print(f); return 2
    for o in got["wrong"]:
        print(f"{o.at}: {o.rule}, example {o.number}: expected {o.wanted}, and it is {o.got}")
    for rule, (at, need) in got["missing"].items():
        print(f"{at}: {rule} lacks " + "; ".join(need))
    print(f"{len(got['knowledge'].rules)} rules, {len(got['knowledge'].tables)} tables, {len(got['outcomes'])} examples, {len(got['wrong'])} wrong, {len(got['missing'])} rules lacking examples")
    return 1 if got["wrong"] or got["missing"] else 0

if __name__ == "__main__":
    sys.exit(main())
