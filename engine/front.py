"""The front: what a command line, a program of somebody's own or a notebook may use of the engine.

Whoever shows what the engine finds imports from here and from nowhere inside: so the rooms can be
rebuilt behind it. A name is loaded when it is first asked for, for a start is short and needs few.
"""

# ruff: noqa: F401 (imported for whoever imports from here)

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    # What stands here is what a checker of types reads; HOMES is the same for whoever runs it, and
    # tests/test_front.py compares the two.
    from . import inspect as inspect
    from . import opened as opened
    from .answering.amended import told as told_of_amendments
    from .answering.answers import Answer as Answer
    from .answering.answers import Row as Row
    from .answering.answers import Unclear as Unclear
    from .answering.asking import Question as Question
    from .answering.causes import Fault as JobFault
    from .answering.design import DesignLine as DesignLine
    from .answering.findings import Finding as Finding
    from .answering.findings import Need as Need
    from .answering.fixes import Fix as Fix
    from .answering.fixes import Fixes as Fixes
    from .answering.fixes import fixes_of as fixes_of
    from .answering.inspection import DESIGN_AID as DESIGN_AID
    from .answering.inspection import Disagreement as Disagreement
    from .answering.inspection import Inspection as Inspection
    from .answering.inspection import body_of as body_of
    from .answering.note import Note as Note
    from .answering.note import Walk as Walk
    from .answering.note import law_of as law_of
    from .answering.note import note_of as note_of
    from .answering.questions import Why as Why
    from .answering.ways import Way as Way
    from .asking.cards import ROUTE as ROUTE
    from .asking.cards import Cards as Cards
    from .asking.cards import cards_of as cards_of
    from .asking.cards import read_bodies as read_bodies
    from .asking.cards import read_cards as read_cards
    from .asking.job_file import job_text as job_text
    from .asking.job_file import plain as plain_body
    from .asking.job_file import updated as job_updated
    from .asking.resumed import resumed as resumed
    from .asking.said import AND as AND
    from .asking.said import SKIPPED as SKIPPED
    from .asking.said import Wrong as Wrong
    from .asking.survey import ANOTHER as ANOTHER
    from .asking.survey import KIND as KIND
    from .asking.survey import MORE as MORE
    from .asking.survey import Answer as SurveyAnswer
    from .asking.survey import Asked as Asked
    from .asking.survey import File as SurveyFile
    from .asking.survey import Hangs as Hangs
    from .asking.survey import Survey as Survey
    from .basics.errors import Collector as Collector
    from .basics.errors import Fault as Fault
    from .basics.errors import Faults as Faults
    from .basics.errors import Place as Place
    from .basics.errors import suggest as suggest
    from .basics.folders import ours as ours
    from .basics.folders import write_folder as write_folder
    from .basics.folders import write_once as write_once
    from .basics.kept import folder_for as folder_for
    from .basics.kept import why_not_safe as why_not_safe
    from .basics.limits import DEPTH as DEPTH
    from .basics.limits import FILE_BYTES as FILE_BYTES
    from .basics.limits import PIECES as PIECES
    from .basics.reading import Mapping as Mapping
    from .basics.reading import all_kept as all_kept
    from .basics.reading import decode as decode
    from .basics.reading import deeper as deeper
    from .basics.reading import pieces as pieces
    from .basics.reading import read_bytes as read_bytes
    from .basics.reading import read_yaml as read_yaml
    from .basics.shapes import Shape as Shape
    from .basics.shapes import filled as filled_in
    from .basics.shapes import wrong as wrong_in
    from .basics.units import day as day
    from .basics.units import number_text as number_text
    from .basics.units import said_day as said_day
    from .checking.clashes import note_clashes as note_clashes
    from .checking.clashes import note_never as note_never
    from .checking.coverage import Coverage as Coverage
    from .checking.coverage import Reason as Reason
    from .checking.coverage import cover as cover
    from .checking.coverage import examples_of as examples_of
    from .checking.coverage import read_reasons as read_reasons
    from .checking.examples import run_example as run_example
    from .checking.examples import run_examples as run_examples
    from .checking.gaps import note_gaps as note_gaps
    from .checking.gaps import unlisted as unlisted
    from .checking.mutation import Verdict as MutantVerdict
    from .checking.mutation import mutate as mutate
    from .checking.variations import ready as ready
    from .comparing.amendments import Review as Review
    from .comparing.amendments import review as review
    from .comparing.between import Change as Change
    from .comparing.changes import Changes as Changes
    from .comparing.changes import changes as what_it_changes
    from .comparing.compare import Cited as Cited
    from .comparing.compare import Comparison as Comparison
    from .comparing.compare import Difference as Difference
    from .comparing.compare import Group as Group
    from .comparing.compare import Pair as Pair
    from .comparing.compare import Said as Said
    from .comparing.compare import compare as compare
    from .comparing.compare import jobs_in as jobs_in
    from .comparing.pack_diff import PackDiff as PackDiff
    from .comparing.pack_diff import Turn as Turn
    from .comparing.pack_diff import pack_diff as pack_diff
    from .comparing.scenes import Scene as Scene
    from .comparing.shelf import Behind as Behind
    from .comparing.shelf import behind as behind
    from .comparing.shelf import in_force_for as in_force_for
    from .comparing.shelf import shelf as shelf
    from .drawing.pictures import drawn as drawn
    from .language.entries import Entry as RuleEntry
    from .language.entries import entries as entries
    from .language.entries import entry as entry
    from .language.entries import plain_entry as plain_entry
    from .language.expressions import Cmp as Cmp
    from .language.expressions import Path as FactRead
    from .language.expressions import walk as pieces_of_a_line
    from .language.knowledge import Knowledge as Knowledge
    from .language.lexicon import Found as Found
    from .language.lexicon import Lexicon as Lexicon
    from .language.rules import EDITIONS as EDITIONS
    from .law.library import KB as KB
    from .law.library import Library as Library
    from .law.library import Pack as Pack
    from .law.library import amends as amends
    from .law.library import days_alike as days_alike
    from .law.library import is_base as is_base
    from .law.library import load as load_anew
    from .law.library import pack_files as pack_files
    from .law.library import shown_name as shown_name
    from .law.places import InForce as InForce
    from .law.places import in_force as in_force
    from .law.places import known_packs as known_packs
    from .law.places import out_of_force as out_of_force
    from .law.places import told_law as told_law
    from .law.places import with_all_above as with_all_above
    from .proving.graph import Graph as Graph
    from .proving.graph import Node as Node
    from .proving.graph import short as short
    from .reasons.tree import READ as READ
    from .reasons.tree import RULED as RULED
    from .reasons.tree import SAID as SAID
    from .reasons.tree import TAKEN as TAKEN
    from .reasons.tree import UNKNOWN as UNKNOWN
    from .reasons.tree import Entry as Entry
    from .running.cache import load as load
    from .running.job import mapping_alone as mapping_alone
    from .running.job import mapping_of as mapping_of
    from .running.pieces import read as knowledge_read
    from .running.pieces import with_code as knowledge_with_code
    from .running.pieces import written as knowledge_written
    from .running.program import program_of as program_of
    from .teaching.asked import Model as Model
    from .teaching.beliefs import read_beliefs as read_beliefs
    from .teaching.classroom import Classroom as Classroom
    from .teaching.classroom import Held as Held
    from .teaching.classroom import Tally as Tally
    from .teaching.classroom import classroom as classroom
    from .teaching.classroom import needs as class_needs
    from .teaching.classroom import next_paper as next_paper
    from .teaching.diagnosis import diagnose as diagnose
    from .teaching.diagnosis import of_class as of_class
    from .teaching.diagnosis import same as same_answer
    from .teaching.diagnosis import typed as typed_answer
    from .teaching.files import QUIZ as QUIZ
    from .teaching.files import RESULTS as RESULTS
    from .teaching.instances import Maker as Maker
    from .teaching.lacking import lacking as lacking
    from .teaching.models import compared as compared
    from .teaching.models import read_models as read_models
    from .teaching.papers import TAKEN as TAKEN_ON_PAPER
    from .teaching.papers import chain_of as chain_of
    from .teaching.papers import key_page as key_page
    from .teaching.papers import markdown as paper_markdown
    from .teaching.papers import page as paper_page
    from .teaching.papers import taken as taken_on_paper
    from .teaching.points import kept as points_kept
    from .teaching.points import points as points
    from .teaching.points import said as points_said
    from .teaching.practice import Card as Card
    from .teaching.practice import cards_of as practice_cards
    from .teaching.practice import due as practice_due
    from .teaching.qti import package as qti_package
    from .teaching.questions import Instance as Instance
    from .teaching.questions import Value as Value
    from .teaching.quiz import Quiz as Quiz
    from .teaching.quiz import asks_for_an_order as asks_for_an_order
    from .teaching.quiz import explained as explained_answer
    from .teaching.quiz import key_places as key_places
    from .teaching.quiz import letter as letter
    from .teaching.quiz import make as make_quiz
    from .teaching.quiz import picks_several as picks_several
    from .teaching.quiz import quiz_as_plain as quiz_as_plain
    from .work.buying import Bought as Bought
    from .work.buying import bought as bought
    from .work.conditions import conditions_of as conditions_of
    from .work.corrections import Meant as Meant
    from .work.cutting import Cut as Cut
    from .work.cutting import said_packs as said_packs
    from .work.ledger import MONEY as MONEY
    from .work.ledger import SHARE as SHARE
    from .work.ledger import Item as MoneyItem
    from .work.ledger import Ledger as Ledger
    from .work.money import Charge as Charge
    from .work.money import Price as Price
    from .work.money import percent as percent
    from .work.money import priced as priced
    from .work.money import said as money_said
    from .work.opening import How as How
    from .work.opening import Opened as Opened
    from .work.opening import folders_of_work as folders_of_work
    from .work.opening import opened as opened_for_work
    from .work.opening import opened_under as opened_for_work_under
    from .work.options import Option as WorkOption
    from .work.options import options_of as options_of
    from .work.options import run_option as run_option
    from .work.price_file import Prices as Prices
    from .work.price_file import prices_in as prices_in
    from .work.price_file import read_prices as read_prices
    from .work.price_file import starter as price_starter
    from .work.record import JOB as JOB_OF_A_RECORD
    from .work.record import LIST as LIST_OF_A_RECORD
    from .work.record import RECORD as RECORD
    from .work.record import Kept as Kept
    from .work.record import Turned as Turned
    from .work.record import digest_of as record_digest
    from .work.record import files_changed as files_changed
    from .work.record import how_of as how_of
    from .work.record import kept_of as kept_of
    from .work.record import law_changed as law_changed
    from .work.record import photographs_changed as photographs_changed
    from .work.record import record_of as record_of
    from .work.record import see_record as see_record
    from .work.record import turned as turned
    from .work.sheets import CUSTOMER as CUSTOMER
    from .work.sheets import OFFICE as OFFICE
    from .work.sheets import Material as SheetMaterial
    from .work.sheets import Row as SheetRow
    from .work.sheets import Sheet as Sheet
    from .work.sheets import cautions_at as cautions_at
    from .work.sheets import holds_back as holds_back
    from .work.sheets import sheet as sheet
    from .work.takeoff import Take as Take
    from .work.takeoff import TakeOff as TakeOff
    from .work.takeoff import Taking as Taking
    from .work.takeoff import Unsure as Unsure
    from .work.takeoff import take_off as take_off
    from .work.tasks import Order as WorkOrder
    from .work.tasks import Task as Task
    from .work.tasks import in_short as in_short
    from .work.tasks import ordered as tasks_in_order
    from .writing.book import CAUTION as CAUTION
    from .writing.book import INDEX as INDEX
    from .writing.book import SECTIONS as SECTIONS
    from .writing.book import Book as Book
    from .writing.book import Grid as Grid
    from .writing.book import Heading as Heading
    from .writing.book import Items as Items
    from .writing.book import Lines as Lines
    from .writing.book import Link as Link
    from .writing.book import Page as Page
    from .writing.book import Words as Words
    from .writing.book import make_book as make_book
    from .writing.book import paths as paths
    from .writing.form import in_form as in_form
    from .writing.published import Against as Against
    from .writing.published import Published as Published
    from .writing.published import against as against
    from .writing.published import publish as publish
    from .writing.published import read_published as read_published
    from .writing.published import unpack as unpack
    from .writing.schema import job_schema as job_schema
    from .writing.schema import pack_schema as pack_schema
    from .writing.starter import starter as starter
    from .writing.starter import write_starter as write_starter
    from .writing.written import fill_in as fill_in
    from .writing.written import put_in_place as put_in_place

# the module that a name is of, and its name there
HOMES: dict[str, tuple[str, str]] = {
    "inspect": ("", "inspect"),
    "opened": ("", "opened"),
    "Collector": ("basics.errors", "Collector"),
    "Fault": ("basics.errors", "Fault"),
    "Faults": ("basics.errors", "Faults"),
    "Place": ("basics.errors", "Place"),
    "suggest": ("basics.errors", "suggest"),
    "ours": ("basics.folders", "ours"),
    "write_folder": ("basics.folders", "write_folder"),
    "write_once": ("basics.folders", "write_once"),
    "folder_for": ("basics.kept", "folder_for"),
    "why_not_safe": ("basics.kept", "why_not_safe"),
    "DEPTH": ("basics.limits", "DEPTH"),
    "FILE_BYTES": ("basics.limits", "FILE_BYTES"),
    "PIECES": ("basics.limits", "PIECES"),
    "Mapping": ("basics.reading", "Mapping"),
    "all_kept": ("basics.reading", "all_kept"),
    "decode": ("basics.reading", "decode"),
    "deeper": ("basics.reading", "deeper"),
    "pieces": ("basics.reading", "pieces"),
    "read_bytes": ("basics.reading", "read_bytes"),
    "read_yaml": ("basics.reading", "read_yaml"),
    "Shape": ("basics.shapes", "Shape"),
    "filled_in": ("basics.shapes", "filled"),
    "wrong_in": ("basics.shapes", "wrong"),
    "day": ("basics.units", "day"),
    "number_text": ("basics.units", "number_text"),
    "drawn": ("drawing.pictures", "drawn"),
    "RuleEntry": ("language.entries", "Entry"),
    "entries": ("language.entries", "entries"),
    "entry": ("language.entries", "entry"),
    "plain_entry": ("language.entries", "plain_entry"),
    "Cmp": ("language.expressions", "Cmp"),
    "FactRead": ("language.expressions", "Path"),
    "pieces_of_a_line": ("language.expressions", "walk"),
    "Knowledge": ("language.knowledge", "Knowledge"),
    "Found": ("language.lexicon", "Found"),
    "Lexicon": ("language.lexicon", "Lexicon"),
    "EDITIONS": ("language.rules", "EDITIONS"),
    "KB": ("law.library", "KB"),
    "Library": ("law.library", "Library"),
    "Pack": ("law.library", "Pack"),
    "amends": ("law.library", "amends"),
    "is_base": ("law.library", "is_base"),
    "days_alike": ("law.library", "days_alike"),
    "load_anew": ("law.library", "load"),
    "pack_files": ("law.library", "pack_files"),
    "shown_name": ("law.library", "shown_name"),
    "InForce": ("law.places", "InForce"),
    "in_force": ("law.places", "in_force"),
    "known_packs": ("law.places", "known_packs"),
    "out_of_force": ("law.places", "out_of_force"),
    "told_law": ("law.places", "told_law"),
    "with_all_above": ("law.places", "with_all_above"),
    "load": ("running.cache", "load"),
    "mapping_alone": ("running.job", "mapping_alone"),
    "mapping_of": ("running.job", "mapping_of"),
    "knowledge_read": ("running.pieces", "read"),
    "knowledge_with_code": ("running.pieces", "with_code"),
    "knowledge_written": ("running.pieces", "written"),
    "program_of": ("running.program", "program_of"),
    "Graph": ("proving.graph", "Graph"),
    "Node": ("proving.graph", "Node"),
    "short": ("proving.graph", "short"),
    "Entry": ("reasons.tree", "Entry"),
    "READ": ("reasons.tree", "READ"),
    "RULED": ("reasons.tree", "RULED"),
    "SAID": ("reasons.tree", "SAID"),
    "TAKEN": ("reasons.tree", "TAKEN"),
    "UNKNOWN": ("reasons.tree", "UNKNOWN"),
    "note_clashes": ("checking.clashes", "note_clashes"),
    "note_never": ("checking.clashes", "note_never"),
    "Coverage": ("checking.coverage", "Coverage"),
    "Reason": ("checking.coverage", "Reason"),
    "cover": ("checking.coverage", "cover"),
    "examples_of": ("checking.coverage", "examples_of"),
    "read_reasons": ("checking.coverage", "read_reasons"),
    "run_example": ("checking.examples", "run_example"),
    "run_examples": ("checking.examples", "run_examples"),
    "note_gaps": ("checking.gaps", "note_gaps"),
    "unlisted": ("checking.gaps", "unlisted"),
    "MutantVerdict": ("checking.mutation", "Verdict"),
    "mutate": ("checking.mutation", "mutate"),
    "ready": ("checking.variations", "ready"),
    "told_of_amendments": ("answering.amended", "told"),
    "Answer": ("answering.answers", "Answer"),
    "Row": ("answering.answers", "Row"),
    "Unclear": ("answering.answers", "Unclear"),
    "Question": ("answering.asking", "Question"),
    "DesignLine": ("answering.design", "DesignLine"),
    "JobFault": ("answering.causes", "Fault"),
    "Finding": ("answering.findings", "Finding"),
    "Need": ("answering.findings", "Need"),
    "Fix": ("answering.fixes", "Fix"),
    "Fixes": ("answering.fixes", "Fixes"),
    "fixes_of": ("answering.fixes", "fixes_of"),
    "DESIGN_AID": ("answering.inspection", "DESIGN_AID"),
    "Disagreement": ("answering.inspection", "Disagreement"),
    "Inspection": ("answering.inspection", "Inspection"),
    "body_of": ("answering.inspection", "body_of"),
    "Note": ("answering.note", "Note"),
    "Walk": ("answering.note", "Walk"),
    "law_of": ("answering.note", "law_of"),
    "note_of": ("answering.note", "note_of"),
    "Why": ("answering.questions", "Why"),
    "Way": ("answering.ways", "Way"),
    "Cards": ("asking.cards", "Cards"),
    "cards_of": ("asking.cards", "cards_of"),
    "read_bodies": ("asking.cards", "read_bodies"),
    "read_cards": ("asking.cards", "read_cards"),
    "job_text": ("asking.job_file", "job_text"),
    "plain_body": ("asking.job_file", "plain"),
    "job_updated": ("asking.job_file", "updated"),
    "resumed": ("asking.resumed", "resumed"),
    "AND": ("asking.said", "AND"),
    "ANOTHER": ("asking.survey", "ANOTHER"),
    "Asked": ("asking.survey", "Asked"),
    "SurveyFile": ("asking.survey", "File"),
    "Hangs": ("asking.survey", "Hangs"),
    "KIND": ("asking.survey", "KIND"),
    "MORE": ("asking.survey", "MORE"),
    "ROUTE": ("asking.cards", "ROUTE"),
    "SKIPPED": ("asking.said", "SKIPPED"),
    "Survey": ("asking.survey", "Survey"),
    "SurveyAnswer": ("asking.survey", "Answer"),
    "Wrong": ("asking.said", "Wrong"),
    "Bought": ("work.buying", "Bought"),
    "bought": ("work.buying", "bought"),
    "Cut": ("work.cutting", "Cut"),
    "said_packs": ("work.cutting", "said_packs"),
    "MONEY": ("work.ledger", "MONEY"),
    "SHARE": ("work.ledger", "SHARE"),
    "MoneyItem": ("work.ledger", "Item"),
    "Ledger": ("work.ledger", "Ledger"),
    "Charge": ("work.money", "Charge"),
    "Price": ("work.money", "Price"),
    "money_said": ("work.money", "said"),
    "percent": ("work.money", "percent"),
    "priced": ("work.money", "priced"),
    "How": ("work.opening", "How"),
    "Opened": ("work.opening", "Opened"),
    "folders_of_work": ("work.opening", "folders_of_work"),
    "opened_for_work": ("work.opening", "opened"),
    "opened_for_work_under": ("work.opening", "opened_under"),
    "WorkOption": ("work.options", "Option"),
    "options_of": ("work.options", "options_of"),
    "run_option": ("work.options", "run_option"),
    "Prices": ("work.price_file", "Prices"),
    "price_starter": ("work.price_file", "starter"),
    "prices_in": ("work.price_file", "prices_in"),
    "read_prices": ("work.price_file", "read_prices"),
    "conditions_of": ("work.conditions", "conditions_of"),
    "Meant": ("work.corrections", "Meant"),
    "JOB_OF_A_RECORD": ("work.record", "JOB"),
    "LIST_OF_A_RECORD": ("work.record", "LIST"),
    "RECORD": ("work.record", "RECORD"),
    "Kept": ("work.record", "Kept"),
    "Turned": ("work.record", "Turned"),
    "record_digest": ("work.record", "digest_of"),
    "files_changed": ("work.record", "files_changed"),
    "how_of": ("work.record", "how_of"),
    "kept_of": ("work.record", "kept_of"),
    "law_changed": ("work.record", "law_changed"),
    "photographs_changed": ("work.record", "photographs_changed"),
    "record_of": ("work.record", "record_of"),
    "see_record": ("work.record", "see_record"),
    "turned": ("work.record", "turned"),
    "CUSTOMER": ("work.sheets", "CUSTOMER"),
    "OFFICE": ("work.sheets", "OFFICE"),
    "Sheet": ("work.sheets", "Sheet"),
    "SheetMaterial": ("work.sheets", "Material"),
    "SheetRow": ("work.sheets", "Row"),
    "cautions_at": ("work.sheets", "cautions_at"),
    "holds_back": ("work.sheets", "holds_back"),
    "sheet": ("work.sheets", "sheet"),
    "Take": ("work.takeoff", "Take"),
    "TakeOff": ("work.takeoff", "TakeOff"),
    "Taking": ("work.takeoff", "Taking"),
    "Unsure": ("work.takeoff", "Unsure"),
    "take_off": ("work.takeoff", "take_off"),
    "Task": ("work.tasks", "Task"),
    "WorkOrder": ("work.tasks", "Order"),
    "in_short": ("work.tasks", "in_short"),
    "tasks_in_order": ("work.tasks", "ordered"),
    "Review": ("comparing.amendments", "Review"),
    "said_day": ("basics.units", "said_day"),
    "Scene": ("comparing.scenes", "Scene"),
    "PackDiff": ("comparing.pack_diff", "PackDiff"),
    "Turn": ("comparing.pack_diff", "Turn"),
    "pack_diff": ("comparing.pack_diff", "pack_diff"),
    "Against": ("writing.published", "Against"),
    "Published": ("writing.published", "Published"),
    "against": ("writing.published", "against"),
    "publish": ("writing.published", "publish"),
    "read_published": ("writing.published", "read_published"),
    "unpack": ("writing.published", "unpack"),
    "review": ("comparing.amendments", "review"),
    "Change": ("comparing.between", "Change"),
    "Changes": ("comparing.changes", "Changes"),
    "what_it_changes": ("comparing.changes", "changes"),
    "Cited": ("comparing.compare", "Cited"),
    "Comparison": ("comparing.compare", "Comparison"),
    "Difference": ("comparing.compare", "Difference"),
    "Group": ("comparing.compare", "Group"),
    "Pair": ("comparing.compare", "Pair"),
    "Said": ("comparing.compare", "Said"),
    "compare": ("comparing.compare", "compare"),
    "jobs_in": ("comparing.compare", "jobs_in"),
    "Behind": ("comparing.shelf", "Behind"),
    "behind": ("comparing.shelf", "behind"),
    "in_force_for": ("comparing.shelf", "in_force_for"),
    "shelf": ("comparing.shelf", "shelf"),
    "Book": ("writing.book", "Book"),
    "CAUTION": ("writing.book", "CAUTION"),
    "Grid": ("writing.book", "Grid"),
    "Heading": ("writing.book", "Heading"),
    "INDEX": ("writing.book", "INDEX"),
    "Items": ("writing.book", "Items"),
    "Lines": ("writing.book", "Lines"),
    "Link": ("writing.book", "Link"),
    "Page": ("writing.book", "Page"),
    "SECTIONS": ("writing.book", "SECTIONS"),
    "Words": ("writing.book", "Words"),
    "make_book": ("writing.book", "make_book"),
    "paths": ("writing.book", "paths"),
    "in_form": ("writing.form", "in_form"),
    "job_schema": ("writing.schema", "job_schema"),
    "pack_schema": ("writing.schema", "pack_schema"),
    "starter": ("writing.starter", "starter"),
    "write_starter": ("writing.starter", "write_starter"),
    "fill_in": ("writing.written", "fill_in"),
    "put_in_place": ("writing.written", "put_in_place"),
    "Model": ("teaching.asked", "Model"),
    "read_beliefs": ("teaching.beliefs", "read_beliefs"),
    "Classroom": ("teaching.classroom", "Classroom"),
    "Held": ("teaching.classroom", "Held"),
    "Tally": ("teaching.classroom", "Tally"),
    "classroom": ("teaching.classroom", "classroom"),
    "class_needs": ("teaching.classroom", "needs"),
    "next_paper": ("teaching.classroom", "next_paper"),
    "diagnose": ("teaching.diagnosis", "diagnose"),
    "of_class": ("teaching.diagnosis", "of_class"),
    "same_answer": ("teaching.diagnosis", "same"),
    "typed_answer": ("teaching.diagnosis", "typed"),
    "QUIZ": ("teaching.files", "QUIZ"),
    "RESULTS": ("teaching.files", "RESULTS"),
    "Maker": ("teaching.instances", "Maker"),
    "lacking": ("teaching.lacking", "lacking"),
    "compared": ("teaching.models", "compared"),
    "read_models": ("teaching.models", "read_models"),
    "TAKEN_ON_PAPER": ("teaching.papers", "TAKEN"),
    "chain_of": ("teaching.papers", "chain_of"),
    "paper_markdown": ("teaching.papers", "markdown"),
    "key_page": ("teaching.papers", "key_page"),
    "paper_page": ("teaching.papers", "page"),
    "taken_on_paper": ("teaching.papers", "taken"),
    "points_kept": ("teaching.points", "kept"),
    "points": ("teaching.points", "points"),
    "points_said": ("teaching.points", "said"),
    "Card": ("teaching.practice", "Card"),
    "practice_cards": ("teaching.practice", "cards_of"),
    "practice_due": ("teaching.practice", "due"),
    "qti_package": ("teaching.qti", "package"),
    "Instance": ("teaching.questions", "Instance"),
    "Value": ("teaching.questions", "Value"),
    "Quiz": ("teaching.quiz", "Quiz"),
    "asks_for_an_order": ("teaching.quiz", "asks_for_an_order"),
    "explained_answer": ("teaching.quiz", "explained"),
    "key_places": ("teaching.quiz", "key_places"),
    "letter": ("teaching.quiz", "letter"),
    "make_quiz": ("teaching.quiz", "make"),
    "picks_several": ("teaching.quiz", "picks_several"),
    "quiz_as_plain": ("teaching.quiz", "quiz_as_plain"),
}

if not TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        if name not in HOMES:
            raise AttributeError(f"the front has no {name!r}")
        from importlib import import_module

        # not kept here: who puts another thing in its place at home is heard everywhere
        module, there = HOMES[name]
        return getattr(import_module(f".{module}" if module else __package__, __package__), there)
