"""Numbers and units that could not be read."""

from __future__ import annotations

import re

from analyser.language.attributes import STARTS
from analyser.language.broken import Broken, keywords
from analyser.language.mistakes import Mistake
from analyser.language.vocabulary import NUMBERS, UNIT_ADVICE, UNIT_MEANT, UNITS, UNITS_OF

_FIGURE = r"[+-]?\d+(?:\.\d+)?"
_BANDS = (
    rf"(?<![\w.-])(?P<low>{_FIGURE})\s*(?:-|–|\.\.+|…)\s*(?P<high>\d+(?:\.\d+)?)\s*(?P<unit>[A-Za-z%]+)?(?![\w-])",
    rf"(?<![\w.-])(?P<low>{_FIGURE})\s*(?P<unit>[A-Za-z%]+)\s+(?:to|-|–)\s+(?P<high>{_FIGURE})\s*(?P=unit)(?![\w-])",
    rf"(?<![\w.-])(?:between|from)\s+(?P<low>{_FIGURE})\s+(?:and|to)\s+(?P<high>{_FIGURE})\s*(?P<unit>[A-Za-z%]+)?(?![\w-])",
    rf"(?<![\w.-])(?P<middle>{_FIGURE})\s*(?P<first>[A-Za-z%]+)?\s*(?:\+/?-|±)\s*(?P<off>\d+(?:\.\d+)?)\s*(?P<unit>[A-Za-z%]+)?(?![\w-])",
)
"""Other ways in which people write a figure that is known only so far."""


def band(b: Broken) -> Mistake | None:
    """`60-110 kg`, `60 kg to 110 kg`, `between 60 and 110 kg`, `85 +- 25 kg`: a band is written with `to`."""
    for pattern in _BANDS:
        for found in re.finditer(pattern, b.line):
            if not found.start() < b.column <= found.end() + 1:
                continue
            told = found.groupdict()
            if told.get("middle"):
                middle, off = float(told["middle"]), float(told["off"])
                low, high = f"{middle - off:g}", f"{middle + off:g}"
            else:
                low, high = told["low"], told["high"]
            unit = _unit(told.get("unit") or told.get("first") or "")
            words = f"{low} to {high}" + (f" {unit}" if unit else "")
            fixed = b.instead(found.start() + 1, found.end() - found.start(), words)
            if b.reads(fixed):
                return Mistake(b.at(found), f"`{found[0]}`: a band is written with `to`", b.write(fixed))
    return None


def number(b: Broken) -> Mistake | None:
    """Numbers and units, wherever they stand."""
    if b.first == "at" or (
        re.search(r"(\bat|\bto)\s*\(?[^()]*$", b.before) and ("(" in b.line or "LPAR" in b.expected)
    ):
        found = _position(b)
        if found:
            return found
    glued = re.match(r"([+-]?\d+(?:\.\d+)?)([A-Za-z%]+)(?![\w-])", b.rest)
    if glued:
        unit = _unit(glued.group(2))
        if unit:
            fixed = b.instead(b.column, len(glued[0]), f"{glued.group(1)} {unit}")
            text = f"`{glued[0]}` runs a number and its unit together"
            return Mistake(b.place(length=len(glued[0])), text, b.write(fixed, f"write `{glued.group(1)} {unit}`"))
    if "UNIT" in b.expected and b.word and (b.first == "units" or b.before.endswith(")")):
        return _unit_alone(b)
    number = re.search(r"(?<![\w.])([+-]?\d+(?:\.\d+)?)$", b.before)
    if "UNIT" in b.expected and number:
        comma = re.match(r",(\d+)", b.rest)
        if comma and b.before == b.line[: b.column - 1]:
            whole = number.group(1) + comma[0]
            options = [f"{number.group(1)}.{comma.group(1)}"]
            if len(comma.group(1)) == 3:
                options.insert(0, number.group(1) + comma.group(1))
            hint = " or ".join(f"`{one}`" for one in options)
            return Mistake(
                b.place(number.start() + 1, len(whole)), f"a comma inside the number {whole}", f"write {hint}"
            )
        if b.word and b.word not in (",", ":", ")", "-"):
            word = (re.match(r"[^\s,:)]+", b.rest) or [b.word])[0]
            if word not in keywords(b) and word not in STARTS:
                unit = _unit(word)
                fixed = b.write(b.instead(b.column, len(word), unit), f"write `{unit}`") if unit else ""
                if (
                    word.lower() == "cm"
                    and number.group(1).isdigit()
                    and not b.before.endswith(f"to {number.group(1)}")
                ):
                    start = number.start(1) + 1
                    millimetres = f"{int(number.group(1)) * 10} mm"
                    fixed = b.write(b.instead(start, b.column + len(word) - start, millimetres))
                hint = fixed or UNIT_ADVICE.get(word.lower(), f"the units read are {UNITS}")
                return Mistake(b.place(length=len(word)), f"`{word}` is not a unit that can be read", hint)
        value = number.group(1)
        return Mistake(
            b.place(number.start(1) + 1, len(value)), f"the number {value} has no unit", _with_unit(b, value)
        )
    if b.expected & {"NUMBER"} and b.word:
        if re.match(r"\.\d", b.rest):
            digits = (re.match(r"\.\d+", b.rest) or [""])[0]
            fixed = b.write(b.instead(b.column, 0, "0"), f"write `0{digits}`")
            return Mistake(b.place(length=len(digits)), f"a number begins with a digit: `{digits}`", fixed)
        if b.word.lower() in NUMBERS and b.reads(b.instead(b.column, len(b.word), NUMBERS[b.word.lower()])):
            fixed = b.instead(b.column, len(b.word), NUMBERS[b.word.lower()])
            return Mistake(b.place(), f"`{b.word}` is written in digits here", b.write(fixed))
        attribute = re.search(r"\b(strength|length|width|stretch|friction|efficiency)\s*([=:]?)$", b.before)
        if attribute and b.word in "=:" and not attribute.group(2):
            fixed = b.line[: b.column - 1].rstrip() + " " + b.rest[1:].lstrip()
            text = f"no `{b.word}` stands between `{attribute.group(1)}` and its number"
            return Mistake(b.place(), text, b.write(fixed))
        if attribute and b.word in UNITS.split(", "):
            return Mistake(
                b.place(), f"the number is missing before `{b.word}`", f"write it: `{attribute.group(1)} 22 {b.word}`"
            )
        if attribute:
            example = {"friction": "0.3", "efficiency": "0.9", "stretch": "3 % at 150 kg"}.get(attribute.group(1))
            example = example or {"strength": "22 kN"}.get(attribute.group(1), "1.2 m")
            text = f"`{attribute.group(1)}` is followed by a number, not `{b.word}`"
            return Mistake(b.place(), text, f"for example `{attribute.group(1)} {example}`")
    if "PERCENT" in b.expected and re.search(r"\bloss\s+[\d.]+\s*$", b.before):
        return Mistake(b.place(), "a loss is given in %", "for example `loss 30 %`")
    if "PERCENT" in b.expected or (b.expected == {"AT"} and b.before.endswith("%")):
        return Mistake(b.place(), "a stretch is given in % at a load", "for example `stretch 3 % at 150 kg`")
    return None


def _unit_alone(b: Broken) -> Mistake | None:
    """A unit that no number stands before: in `units lbf, ft, lb`, or behind the brackets of a position."""
    unit = _unit(b.word)
    fixed = b.instead(b.column, len(b.word), unit) if unit else ""
    if b.first == "units":
        system = "units kN, m, kg" if b.word.lower() in ("metric", "si") else "units lbf, ft, lb"
        text = f"`{b.word}` is no unit that figures are printed in"
        return Mistake(b.place(), text, b.write(fixed if fixed and b.reads(fixed) else system))
    return Mistake(b.place(), f"`{b.word}` is not a unit that can be read", b.write(fixed)) if unit else None


def _position(b: Broken) -> Mistake | None:
    bracket = re.search(r"\(([^()]*)\)?", b.line)
    if bracket:
        numbers = re.findall(r"[+-]?\d+(?:\.\d+)?", bracket.group(1))
        if re.search(r"\d\s+to\s+[+-]?\d", bracket.group(1)):
            text = "a band is for where a part is, and here one place is asked"
            return Mistake(b.at(bracket), text, "write one number for each of x, y and z: `(0, 1.5, 12)`")
        if re.search(r"\d\s*[A-Za-z]", bracket.group(1)):
            fixed = b.line[: bracket.start(1)] + ", ".join(numbers) + b.line[bracket.end(1) :]
            within = set(re.findall(r"\d\s*([A-Za-z]+)", bracket.group(1)))
            if within <= {"ft", "feet", "foot"}:
                fixed = b.line[: bracket.start(1)] + ", ".join(numbers) + ") ft" + b.line[bracket.end(1) + 1 :]
                return Mistake(b.place(), "the unit of a position stands once, behind its bracket", b.write(fixed))
            return Mistake(b.place(), "a position is in metres, without units", b.write(fixed))
        if len(numbers) != 3:
            here = f"here {'is' if len(numbers) == 1 else 'are'} {len(numbers)}"
            text = f"a position is three numbers, x, y and z up, and {here}"
            halves = [f"{a}.{c}" for a, c in zip(numbers[::2], numbers[1::2], strict=False)]
            hint = (
                f"decimals take a point: `({', '.join(halves)})`"
                if len(numbers) == 6
                else "write all three: `(0, 1.5, 12)`"
            )
            return Mistake(b.at(bracket), text, hint)
    elif "LPAR" in b.expected and "MINUS" not in b.expected:  # a chain takes brackets too
        plain = re.match(r"[+-]?\d[\d.]*(?:\s*,\s*[+-]?\d[\d.]*){2}", b.rest)
        if plain:
            fixed = b.instead(b.column, len(plain[0]), f"({plain[0]})")
            return Mistake(b.place(length=len(plain[0])), "a position stands in brackets", b.write(fixed))
        return Mistake(b.place(), "a position is three numbers in brackets", "for example `at (0, 1.5, 12)`")
    return None


def _unit(word: str) -> str:
    units = [*UNITS.split(", "), "%"]
    if word in units:
        return word
    same = [one for one in units if one.lower() == word.lower()]
    return same[0] if same else UNIT_MEANT.get(word.lower(), "")


def _with_unit(b: Broken, number: str) -> str:
    before = b.before[: len(b.before) - len(number)].rstrip()
    last = (re.search(r"[\w-]+$", before) or [""])[0]
    units = UNITS_OF.get(last) or (UNITS_OF["force"] if "force on" in before else "")
    units = units or (UNITS_OF.get(b.key, "kg m mm") if last in ("", b.key) or before[-1:] in (":", ",") else "kg m mm")
    return "write its unit: " + " or ".join(f"`{number} {unit}`" for unit in units.split())
