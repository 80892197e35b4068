"""What a file gives by name, wherever it stands: its title, its parts and ropes, and what is said of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from analyser.language.attributes import FLAGS
from analyser.language.identities import Revision
from analyser.language.lookalikes import differing, mixed, points, skeleton
from analyser.language.mistakes import Place, with_article
from analyser.language.syntax import (
    Attach,
    Cause,
    Declaration,
    Detail,
    Heading,
    More,
    NewKind,
    RopeLine,
    UnitsAsked,
    Word,
    links_of,
)
from analyser.language.vocabulary import STATEMENTS
from analyser.rig.bench import Bench
from analyser.rig.declaring import add_points, declare, declare_links
from analyser.rig.describing import apply
from analyser.rig.figures import FACTORS, PRINTED, Units
from analyser.rig.roping import declare_knots


def heading(bench: Bench) -> tuple[str, Revision | None, list[str]]:
    statements = bench.document.statements
    titles = [s for s in statements if isinstance(s, Heading) and s.key == "rig"]
    main = next(iter(bench.document.sources))
    hint = 'begin with a title: `rig "Two-rope lower"`'
    if not titles:
        if not any(m.place.file == main for m in bench.document.mistakes) or statements:
            first = statements[0].place if statements else Place(main, 1)
            if not bench.doubtful("rig"):
                bench.wrong(first if first.file == main else Place(main, 1), "the rig has no title", hint)
        return "", None, []
    if not titles[0].text.strip():
        bench.wrong(titles[0].place, "the title is empty", 'say what this rig is: `rig "Two-rope lower"`')
    if statements[0] is not titles[0] and titles[0].place.file == main:
        bench.wrong(titles[0].place, "the title must come first", "move this line to the top of the file")
    for title in titles:
        if title.place.file != main:
            bench.wrong(title.place, "a file that is included has no title of its own", "take it out")
        elif title is not titles[0]:
            text = f"a second title: the first is on line {titles[0].place.line}"
            bench.wrong(title.place, text, 'take it out, or make it a `note "…"`')
    revisions = [s for s in statements if isinstance(s, Heading) and s.key == "revision"]
    notes = [s.text for s in statements if isinstance(s, Heading) and s.key == "note"]
    for one in revisions:
        if one.dated and not _is_a_day(one.dated.text):
            wrong = f"there is no day {one.dated.text}"
            bench.wrong(one.dated.place, wrong, "write year, month and day: `dated 2026-11-28`")
    made = [Revision(one.text, one.dated.text if one.dated else None) for one in revisions]
    return titles[0].text, made[-1] if made else None, notes


def _is_a_day(text: str) -> bool:
    try:
        return bool(date.fromisoformat(text))
    except ValueError:
        return False


def printed_in(bench: Bench) -> Units:
    """What the file's figures are printed in; what is wrong with a `units` line is told."""
    asked = [s for s in bench.document.statements if isinstance(s, UnitsAsked)]
    main = next(iter(bench.document.sources))
    own = [one for one in asked if one.place.file == main]
    for again in own[1:]:
        bench.wrong(again.place, f"units are asked for on line {own[0].place.line} too", "write one line for all")
    chosen: dict[str, str] = {}
    for word in (own or asked)[0].units if asked else ():
        what = FACTORS[word.text][0]
        if word.text not in PRINTED.get(what, ()):
            some = " or ".join(f"`{unit}`" for unit in PRINTED.get(what, ())) or "as they are"
            bench.wrong(
                word.place,
                f"figures of {with_article(what)} are not printed in `{word.text}`",
                f"they are printed in {some}",
            )
        elif chosen.setdefault(what, word.text) != word.text:
            bench.wrong(
                word.place, f"`{chosen[what]}` and `{word.text}` both print {with_article(what)}", "keep one of them"
            )
    return Units(**chosen)


def declare_names(bench: Bench) -> list[tuple[RopeLine, list[Word | None]]]:
    """Every name that the file gives, wherever it stands, so that the order of lines is free."""
    ropes: list[RopeLine] = []
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            bench.names |= {name.text: statement.kind.text for name in statement.names}
        elif isinstance(statement, RopeLine):
            bench.names[statement.name.text] = "rope"
        for link in links_of(statement):
            if link.name and link.kind and link.kind.text in bench.kinds:
                bench.names[link.name.text] = link.kind.text
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            for name in statement.names:
                if name.text in FLAGS and name is not statement.names[0]:
                    first = statement.names[0].text
                    bench.wrong(
                        name.place,
                        f"after a comma, `{name.text}` would be another {statement.kind.text}",
                        f"attributes begin with a colon: `{statement.kind.text} {first}: {name.text}`",
                    )
                    continue
                declare(bench, statement.kind, name, begins=True)
        elif isinstance(statement, Attach):
            declare_links(bench, statement.chain)
        elif isinstance(statement, RopeLine):
            name = statement.name
            before = bench.ropes.get(name.text) or (bench.parts[name.text].place if name.text in bench.parts else None)
            if before:
                bench.wrong(
                    name.place,
                    f"`{name.text}` is declared twice: the first is on line {before.line}",
                    "give this rope a name of its own",
                )
                bench.broken.add(name.text)
            else:
                bench.ropes[name.text] = name.place
                ropes.append(statement)
    return [(rope, declare_knots(bench, rope)) for rope in ropes]


def looked_at(bench: Bench) -> None:
    """Names that look alike, and names of letters that nobody writes together: nobody could tell which is meant."""
    places: dict[str, Place] = {name: part.place for name, part in bench.parts.items()}
    places |= {**bench.hazards, **bench.ropes}
    for statement in bench.document.statements:
        if isinstance(statement, Cause | NewKind):
            places.setdefault(statement.name.text, statement.name.place)
    first: dict[str, str] = {}
    for name, place in sorted(places.items(), key=lambda one: (one[1], one[0])):
        if letters := mixed(name):
            text = f"`{name}` has letters of two scripts: {points(letters[0])}, {points(letters[1])}"
            bench.wrong(place, text, "write it with the letters of one")
            continue
        alike = first.setdefault(skeleton(name), name)
        if alike != name:
            one, other = next(differing(alike, name))
            text = (
                f"`{name}` looks like `{alike}` (line {places[alike].line}): it has {points(other)} for {points(one)}"
            )
            bench.wrong(place, text, "give it a name that nobody takes for the other")


def describe(bench: Bench) -> None:
    """Apply attributes, those of the declarations first; points become parts as they are named."""
    blocks: list[Detail] = []
    for statement in bench.document.statements:
        if isinstance(statement, Declaration):
            blocks += [replace(d, names=d.names or statement.names) for d in statement.details]
        elif isinstance(statement, More):
            blocks += statement.details
    late: list[Detail] = []
    for detail in blocks:
        if any("." in name.text for name in detail.names):
            late.append(detail)
        else:
            _apply(bench, detail)
    for draft in list(bench.drafts.values()):
        add_points(bench, draft)
    for detail in late:
        _apply(bench, detail)


def _no_kind(bench: Bench, names: tuple[Word, ...]) -> bool:
    """`red-mat, green-mat` alone on a line: told once for all of them."""
    if len(names) < 2 or any(n.text in {*bench.parts, *bench.ropes, *bench.kinds, *STATEMENTS} for n in names):
        return False
    first, last = names[0].place, names[-1].place
    place = Place(first.file, first.line, first.column, last.end if last.line == first.line else first.end)
    written = ", ".join(name.text for name in names)
    kind = bench.kind_told(names[0].text, "carabiner")
    bench.wrong(place, f"`{written}` are names without a kind", f"declare them: `{kind} {written}`")
    bench.doubt(*(name.text for name in names))
    return True


def _apply(bench: Bench, detail: Detail) -> None:
    if not detail.attributes and _no_kind(bench, detail.names):
        return
    for name in detail.names:
        if bench.doubtful(name.text) and name.text not in bench.parts:
            continue
        if name.text not in bench.parts and (name.text in bench.kinds or name.text in STATEMENTS):
            if name.text in bench.kinds:
                text = f"`{name.text}` is a kind, and no name follows it"
                bench.wrong(name.place, text, f"name it: `{name.text} spare`")
            else:
                bench.wrong(name.place, f"`{name.text}` says nothing yet", "write what it is about, or take it out")
            bench.nameless = True
            continue
        if name.text in bench.ropes:
            hint = f"write its attributes where it is declared, after `rope {name.text}:`"
            bench.wrong(name.place, f"`{name.text}` is a rope, not a part", hint)
        part = bench.part(name) if name.text not in bench.ropes else None
        if part is None:
            continue
        if not detail.attributes:
            hint = f"write what is to be said, as in `{name.text}: strength 22 kN`, or take the line out"
            bench.wrong(name.place, f"`{name.text}` stands alone: nothing is said of it", hint)
        for attribute in detail.attributes:
            apply(bench, bench.drafts[part.name], attribute)
