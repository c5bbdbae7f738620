"""The rule book: each thing has its page, each example says what the engine gives, every link leads
somewhere.

kb/RULES.md is a line for each rule, so that a change of the rules shows in one place:
WHYWIRE_UPDATE=1 writes it anew.
"""

import os
import posixpath
import re
import subprocess
import sys
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

from whywire.cli.main import main
from whywire.cli.show_book import show_book
from whywire.engine.basics.errors import Fault
from whywire.engine.basics.folders import LIST, write_folder
from whywire.engine.checking.examples import each, expectation, in_edition
from whywire.engine.language.rules import JUDGING
from whywire.engine.language.words import as_list
from whywire.engine.law.library import Library
from whywire.engine.law.places import in_force, known_packs
from whywire.engine.writing.book import Grid, make_book, paths, rule_index

ROOT = Path(__file__).resolve().parents[2]
SMALL = ROOT / "tests" / "faults" / "kb"
LAWS = {"base": ("2023", None, None), "kestrel": (None, "2026-01-01", "Kestrel County")}


@cache
def book(law: str):
    edition, date, place = LAWS[law]
    return make_book(in_force({}, "book", (), edition, date, place))


@cache
def knowledge(law: str):
    """(what is in force, the same as knowledge)."""
    edition, date, place = LAWS[law]
    force = in_force({}, "book", (), edition, date, place)
    return force, Library(force.folders).in_force(force.edition, force.date)


@cache
def files(law: str, form: str) -> dict[str, str]:
    return show_book(book(law), form)


class Reader(HTMLParser):
    """What a page holds: where its links lead, its anchors, its tags in their order; tags must
    close as they opened.
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links, self.anchors, self.tags, self.open, self.rows, self.cell, self.said = (
            [],
            set(),
            [],
            [],
            [],
            None,
            "",
        )
        self.feed(text)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        d = dict(attrs)
        self.tags.append((tag, d))
        if tag not in ("meta",):
            self.open.append(tag)
        self.links += [d["href"]] if "href" in d else []
        self.anchors |= {d["id"]} if "id" in d else set()
        assert not set(d) - {
            "lang",
            "charset",
            "name",
            "content",
            "class",
            "href",
            "id",
            "aria-label",
            "role",  # of a wide table, which scrolls in a region of its own
            "tabindex",
            "scope",
        }, d
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.said += data
        if self.open and {"td", "th"} & set(self.open):
            self.rows[-1][-1] += data


@cache
def read(law: str) -> dict[str, Reader]:
    return {path: Reader(text) for path, text in files(law, "html").items()}


@pytest.mark.parametrize("law", LAWS)
def test_everything_has_its_page(law):
    b, (force, k) = book(law), knowledge(law)
    keys = [p.key for p in b.pages]
    assert len(keys) == len(set(keys)) == len({at.lower() for at in paths(b).values()})
    assert {n for kind, n in keys if kind == "rule"} == {*k.rules, *k.absent, *k.gone}
    assert {n for kind, n in keys if kind == "table"} == set(k.tables) and {
        n for kind, n in keys if kind == "value"
    } == set(k.values)
    packs = Library(
        tuple(p.folder for p in known_packs().values()) if law == "base" else force.folders
    ).packs[1:]
    assert {n for kind, n in keys if kind == "pack"} == {p.name for p in packs} and packs
    pages = read(law)
    for p in packs:
        page = pages[f"packs/{p.name}.html"]
        assert {f"edit-{n}" for n in range(1, len(p.edits) + 1)} | {"text"} == page.anchors
        for e in p.edits:  # and the rule, value or table it changes names it
            key = next((key for key in keys if key[1] == e.target and key[0] != "pack"), None)
            if key is None:
                # a fact has no page of its own; what is not of this law has none here
                assert (
                    e.verb == "take"
                    or law == "base"
                    and (
                        e.verb == "add"
                        or any(
                            o.verb == "add" and o.target == e.target for q in packs for o in q.edits
                        )
                    )
                )
            elif law == "base" or e.holds_on(force.date):
                assert (
                    f"../packs/{p.name}.html#edit-{e.number}"
                    in pages[paths(b)[key] + ".html"].links
                )


def test_a_page_of_a_place_says_what_is_in_force_there():
    page = files("kestrel", "html")["rules/working-space-depth.html"]
    assert (
        "must  depth &gt;= 42 in" in page
        and "Ordinance 2025-14 §4-20, amending 110.26(A)(1)" in page
    )
    assert (
        "withdrawn by Ordinance 2025-14 §4-12"
        in files("kestrel", "html")["rules/next-size-up.html"]
    )
    assert "must  depth &gt;= 36 in" in files("base", "html")["rules/working-space-depth.html"]


@pytest.mark.parametrize("law", LAWS)
def test_each_example_says_what_the_engine_gives(law):
    b, (_, k) = book(law), knowledge(law)
    at, pages, checked, otherwise = paths(b), read(law), 0, 0
    for name, r in k.rules.items():
        rows = pages[at["rule", name] + ".html"].rows
        start = next(
            (i for i, row in enumerate(rows) if row == ["No.", "Given", "Expected", "Comes out"]),
            None,
        )
        said = [d for d in as_list(r.d.get("examples")) if isinstance(d, dict)]
        assert (start is None) == (not said), name
        for d, row in zip(said, rows[start + 1 :] if said else ()):
            if not in_edition(k, d) or row[3].startswith("not run"):
                assert row[3].startswith("not run")
                continue
            got = [expectation(k, r, given) for given in each(d.get("given", {}))]
            for comes in row[3].split(" / "):
                for part in comes.split("; "):
                    if part.startswith("sets aside: "):
                        continue
                    if "answer" in d and r.verb in JUDGING:
                        assert part in [g["answer"] for g in got], (name, d)
                    elif part.startswith("holds: ") and "holds" in got[0]:
                        assert part[7:] in [g["holds"] for g in got], (name, d)
                    elif (
                        "gives" in d
                        and all("gives" in g for g in got)
                        and not part.startswith("holds")
                    ):
                        fact, _, value = part.partition(": ")
                        assert value in [g["gives"][fact] for g in got], (name, d)
                    else:
                        continue
                    checked += 1
            otherwise += row[3] not in (row[2], row[2].removeprefix("answer: "))
    assert checked > 3000 and (otherwise > 4 if law == "kestrel" else True)


def test_what_comes_out_is_printed_and_not_what_was_hoped(tmp_path, monkeypatch):
    from whywire.engine.law import library

    monkeypatch.setattr(library, "KB", SMALL)
    (tmp_path / "pack.yaml").write_text("pack: mine\n")
    (tmp_path / "rules.yaml").write_text(
        "- rule: trial\n  says: x\n  about: wire\n  practice: made up\n  must: ampacity >= 9 A\n "
        " examples:\n    - {given: {ampacity: 8 A}, answer: passes}\n"
    )
    b = make_book(in_force({}, "book", (tmp_path,), "2023"))
    page = next(p for p in b.pages if p.key == ("rule", "trial"))
    assert [row for g in page.blocks if isinstance(g, Grid) for row in g.rows] == [
        [["1"], ["ampacity 8 A"], ["answer: passes"], ["fails"]]
    ]


@pytest.mark.parametrize("law", LAWS)
def test_every_link_leads_somewhere(law):
    pages, seen = read(law), 0
    for path, page in pages.items():
        for link in page.links:
            where, _, anchor = unquote(link).partition("#")
            target = (
                posixpath.normpath(posixpath.join(posixpath.dirname(path), where))
                if where
                else path
            )
            assert target in pages, f"{path}: {link}"
            assert not anchor or anchor in pages[target].anchors, f"{path}: {link}"
            seen += 1
    assert seen > 4000
    reached, todo = set(), ["index.html"]  # and every page can be come to from the first
    while todo:
        path = todo.pop()
        if path not in reached:
            reached.add(path)
            todo += [
                posixpath.normpath(posixpath.join(posixpath.dirname(path), link.partition("#")[0]))
                for link in pages[path].links
                if link.partition("#")[0]
            ]
    assert reached == set(pages)


def test_every_link_of_the_markdown_leads_somewhere():
    texts, seen = files("kestrel", "markdown"), 0
    for path, text in texts.items():
        for link in re.findall(r"(?<!\\)\]\(([^)\s]+)\)", text):
            where, _, anchor = link.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), where))
            assert target in texts and (not anchor or f'<a id="{anchor}">' in texts[target]), (
                f"{path}: {link}"
            )
            seen += 1
    assert seen > 3500


def test_a_page_stands_alone_and_can_be_read_by_everyone():
    for path, page in read("base").items():
        tags = [t for t, _ in page.tags]
        assert not {"script", "link", "img", "iframe", "object", "form"} & set(tags) and all(
            not re.match(r"\w+:|//", link) for link in page.links
        )
        assert ("html", {"lang": "en"}) in page.tags and tags.count("h1") == tags.count(
            "main"
        ) == tags.count("title") == 1
        assert tags.count("table") == tags.count("caption") == tags.count("thead")
        assert all(d.get("scope") in ("col", "row") for t, d in page.tags if t == "th")
        levels = [int(t[1]) for t in tags if re.fullmatch(r"h\d", t)]
        assert all(b <= a + 1 for a, b in zip(levels, levels[1:])), path
        assert "url(" not in files("base", "html")[path].partition("</style>")[0]
    titles = [re.search("<title>(.*)</title>", text)[1] for text in files("base", "html").values()]
    assert len(set(titles)) == len(titles)


def test_a_book_is_the_same_to_the_last_byte(tmp_path):
    """Whatever order a set takes: two processes, two seeds."""
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "WHYWIRE_KB": str(SMALL)}
        assert (
            subprocess.run(
                [sys.executable, "-m", "whywire.cli.main", "book", "--to", str(tmp_path / seed)],
                env=env,
                capture_output=True,
            ).returncode
            == 0
        )
    one, two = (
        {
            p.relative_to(tmp_path / s): p.read_bytes()
            for p in sorted((tmp_path / s).rglob("*"))
            if p.is_file()
        }
        for s in ("1", "2")
    )
    assert one == two and len(one) > 5


EVIL = (
    "<script>alert(1)</script> & \"'` [x](javascript:alert(1)) | *a* _b_ ![i](http://x/) <!-- ]]>"
    " ${x}"
)


def test_nothing_a_pack_says_is_taken_for_a_mark(tmp_path, monkeypatch):
    from whywire.engine.law import library

    monkeypatch.setattr(library, "KB", SMALL)
    quoted = EVIL.replace("\\", "\\\\").replace('"', '\\"')
    (tmp_path / "pack.yaml").write_text(f'pack: mine\ntitle: "{quoted}"\n')
    (tmp_path / "rules.yaml").write_text(
        f'- rule: trial\n  says: "{quoted}"\n  about: wire\n  practice: "{quoted}"\n  because:'
        f' "{quoted}"\n  doubt: "# {quoted}"\n  must: ampacity >= 9 A\n'
    )
    b = make_book(in_force({}, "book", (tmp_path,), "2023"))
    for path, text in show_book(b, "html").items():
        page = Reader(text)  # whose tags and attributes are ours alone
        assert "script" not in [t for t, _ in page.tags] and not [
            link for link in page.links if "javascript" in link
        ]
    page = Reader(show_book(b, "html")["rules/trial.html"])
    assert page.said.count(EVIL) >= 4
    text = show_book(b, "markdown")["rules/trial.md"]
    bare = re.sub(r"\\.", "", text)
    assert (
        "<" not in bare
        and "javascript" not in "".join(re.findall(r"\]\(([^)]*)\)", bare))
        and "![" not in bare
    )


def test_a_book_is_written_over_nothing_but_a_book(tmp_path):
    to = tmp_path / "book"
    write_folder(to, {"index.html": "one", "rules/a.html": "a"})
    write_folder(to, {"index.html": "two", "tables/b.html": "b"})
    assert {p.relative_to(to).as_posix() for p in to.rglob("*")} == {
        LIST,
        "index.html",
        "tables",
        "tables/b.html",
    }
    before = (to / "index.html").read_bytes()

    def refused(what: str) -> None:
        with pytest.raises(Fault, match=what) as caught:
            write_folder(to, {"index.html": "three"})
        assert (
            caught.value.code == "not-ours"
            and caught.value.todo
            and (to / "tables" / "b.html").exists()
        )

    (to / "mine.txt").write_text("mine")
    refused("did not write")
    (to / "mine.txt").unlink()
    (to / "mine").mkdir()
    refused("did not write")
    (to / "mine").rmdir()
    (to / "tables" / "c.html").symlink_to(tmp_path / "elsewhere")
    refused("did not write")
    (to / "tables" / "c.html").unlink()
    (to / "index.html").write_text("mended by hand")
    refused("changed since")
    (to / "index.html").write_bytes(before)
    write_folder(to, {"index.html": "three"})
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "x").write_text("x")
    to = tmp_path / "elsewhere"
    with pytest.raises(Fault, match="did not write"):
        write_folder(to, {})
    with pytest.raises(Fault, match="no folder"):
        write_folder(tmp_path / "elsewhere" / "x", {})
    with pytest.raises(Fault, match="cannot be written") as caught:
        write_folder(Path("/proc/nowhere"), {"a": "b"})
    assert caught.value.code == "not-writable"


def test_the_command(tmp_path, capsys):
    assert main(["book", "--to", str(tmp_path / "b"), "--as", "markdown"]) == 0
    assert "pages in" in capsys.readouterr().out and (tmp_path / "b" / "index.md").exists()
    (tmp_path / "b" / "mine").write_text("x")
    assert (
        main(["book", "--to", str(tmp_path / "b")]) == 2
        and "did not write" in capsys.readouterr().err
    )
    assert (
        main(["book", "--to", str(tmp_path / "c"), "--place", "Kestrel County"]) == 2
        and not (tmp_path / "c").exists()
    )
    assert (
        main(["book", "--to", str(tmp_path / "c"), "--place", "Nowhere", "--date", "2026-01-01"])
        == 2
    )
    assert (
        main(["book", "--to", str(tmp_path / "c"), "--place", "Nowhere", "--edition", "2023"]) == 2
        and "no pack for Nowhere" in capsys.readouterr().err
    )


def test_the_list_of_rules_is_up_to_date():
    path = ROOT / "kb" / "RULES.md"
    said = rule_index(knowledge("base")[1])
    if os.environ.get("WHYWIRE_UPDATE"):
        path.write_text(said)
    assert path.read_text() == said, (
        "the rules changed: WHYWIRE_UPDATE=1 pytest -q tests/cli/test_book.py, then read the diff"
    )
    assert said.count("\n* ") == len(knowledge("base")[1].rules)
