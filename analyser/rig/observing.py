"""What was observed after an accident: facts with their names resolved, and what cannot be true of them.

Witnesses may say what cannot both be: that is no mistake of the file, and for `analyser/uses/incident` to show with
both sides. Told here is what is no fact of this rig at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from analyser.language.identities import Cut, FailureId, Span
from analyser.language.mistakes import did_you_mean
from analyser.language.syntax import Fact, FailureName, ObservedBlock, StageBlock, Word
from analyser.rig.bench import Bench, is_a
from analyser.rig.model import BODIES, Judged, Nature, Observation, Part, Witness
from analyser.rig.naming import Asked, cause_names, meant

WHEN = ("at", "between", "before")
WHO = ("fell", "caught", "stayed")
WHOLE_ALWAYS = (Nature.PERSON, Nature.LOAD, Nature.POINT)
"""What the model takes as not failing."""


def observations(
    bench: Bench,
    asked: Asked,
    sound: Sequence[Judged],
    parts: Sequence[Mapping[str, Part]],
    stages: Sequence[StageBlock],
) -> tuple[Observation, ...]:
    """Every fact, in the order of the file. `parts` are those of each state, the first state first."""
    return tuple(_Observing(bench, asked, sound, parts, stages).facts())


class _Observing:
    def __init__(
        self,
        bench: Bench,
        asked: Asked,
        sound: Sequence[Judged],
        parts: Sequence[Mapping[str, Part]],
        stages: Sequence[StageBlock],
    ) -> None:
        self.bench = bench
        self.asked = asked
        self.sound = {one.failure: one for one in sound}
        self.parts = parts
        self.stages = stages

    def facts(self) -> Iterator[Observation]:
        for block in self.bench.document.statements:
            if isinstance(block, ObservedBlock):
                for fact in block.facts:
                    yield self.fact(fact)

    def fact(self, fact: Fact) -> Observation:
        told = tuple(Witness(one.sure, one.by) for one in fact.told)
        verb = fact.verb
        names: tuple[str, ...] = ()
        states: tuple[int, ...] = ()
        if verb in WHO:
            names = tuple(word.text for word in fact.names if self._body(fact, word))
        elif verb == "intact":
            names = tuple(name for word in fact.names for name in self._intact(fact, word))
        elif verb in ("found", "not"):
            names = tuple(self._failure(fact))
        elif verb in WHEN:
            verb, states = "at", self._when(fact)
        text = fact.text.text if fact.text and verb in ("not", "note") else ""
        if verb == "not" and not text.strip():
            hint = f'write `not {fact.failure.id if fact.failure else ""}: "…"` with what rules it out'
            self.bench.wrong(fact.place, "`not` must say why, and this reason is empty", hint)
        return Observation(verb, fact.words, fact.place, names, text, told, states)

    # -- who fell, who didn't

    def _body(self, fact: Fact, word: Word) -> bool:
        """Is this a body that the fact can be told of? Otherwise told why not."""
        name = word.text
        drafted = self.bench.parts.get(name)
        bodies = sorted({one.name for state in self.parts for one in state.values() if one.is_body})
        if drafted is None:
            if not self.bench.doubtful(name):
                hint = did_you_mean(name, bodies) or (f"the bodies are {', '.join(bodies)}" if bodies else "")
                self.bench.misnamed(word, bodies, f"there is no body called `{name}`", hint)
            return False
        if drafted.nature not in BODIES:
            text = f"{is_a(drafted)}: people, litters and loads fall or stay"
            self.bench.wrong(word.place, text, "name a body; of a part say `found … fails` or `intact …`")
            return False
        can_fall = any(name in state and not (state[name].standing and not state[name].exposed) for state in self.parts)
        if fact.verb != "stayed" and not can_fall:
            text = f"`{name}` is `standing` and not `exposed`: such a person is taken as not falling"
            self.bench.wrong(word.place, text, f"`{name}: standing, exposed` if there was a drop beside them")
            return False
        return True

    # -- what was found, and what was whole

    def _failure(self, fact: Fact) -> list[FailureId]:
        written = fact.failure
        if written is None:
            return []
        if written.id in self.sound:
            judged = self.sound[written.id]
            if fact.verb == "found":
                text = f"`{written.id}` was found, and line {judged.place.line} takes it as impossible: {judged.reason}"
                self.bench.wrong(written.place, text, "take it out of that `sound` line")
            return []
        ids = self._meant(written)
        if fact.verb == "found" and isinstance(written.id, Cut) and written.part in self.bench.ropes:
            return [written.id] if ids else []
        return ids

    def _meant(self, written: FailureName) -> list[FailureId]:
        return meant(self.asked, written, cause_names(self.bench))

    def _intact(self, fact: Fact, word: Word) -> list[str]:
        """The names that are known to be whole: of a rope, its spans."""
        name = word.text
        failures = self.asked.failures.values()
        if name in self.bench.ropes:
            names = sorted({f.part for f in failures if f.mode == "is cut" and f.id.owner == name})
        elif isinstance(name, Span):
            names = [self.asked.failures[one].part for one in self._meant(FailureName(name, "is cut", word.place))]
        else:
            draft = self.bench.part(word)
            if draft is None:
                return []
            if draft.nature in WHOLE_ALWAYS and not any(f.part == draft.name for f in failures):
                text = f"{is_a(draft)}: people, loads and plain points are taken as whole"
                self.bench.wrong(word.place, text, "take it out; of a person say `stayed` or `fell`")
                return []
            if draft.nature is Nature.EDGE:
                text = f"{is_a(draft)}: an edge cuts, and is not broken itself"
                self.bench.wrong(word.place, text, f'write `not {name} cuts: "…"` with what shows it')
                return []
            names = [draft.name]
        return names

    # -- when

    def _when(self, fact: Fact) -> tuple[int, ...]:
        if fact.verb == "before":
            return (0,)
        title = fact.text
        assert title is not None
        number = 0  # of the state before the stage's first step
        for made in self.stages:
            if made.title == title.text:
                return self._steps(fact, number, made)
            number += len(made.steps)
        titles = [made.title for made in self.stages]
        if not self.bench.doubtful(title.text) and not any(t == "?" for t in titles):
            listed = ", ".join(f'"{one}"' for one in titles)
            hint = did_you_mean(title.text, titles) or (
                f"the stages are {listed}" if titles else "write `before any step`"
            )
            text = f'there is no stage "{title.text}"' + ("" if titles else ": this file has none")
            self.bench.wrong(title.place, text, hint, follows=not did_you_mean(title.text, titles))
        return ()

    def _steps(self, fact: Fact, before: int, made: StageBlock) -> tuple[int, ...]:
        count = len(made.steps)
        wrong = False
        for word in fact.numbers:
            if not word.text.isdigit() or not 1 <= int(word.text) <= count:
                steps = "1 step" if count == 1 else f"{count} steps, numbered from 1"
                text = f'there is no step {word.text} in "{made.title}": it has {steps}'
                last = made.steps[-1].words.splitlines()[0] if made.steps else ""
                self.bench.wrong(word.place, text, f"step {count} is `{last}`" if last else "", follows=True)
                wrong = True
        if wrong:
            return ()
        low, high = int(fact.numbers[0].text), int(fact.numbers[-1].text)
        if low > high:
            text = f"the steps run from {low} to {high}, which is backwards"
            self.bench.wrong(fact.numbers[0].place, text, f'write `between step {high} and {low} of "{made.title}"`')
            return ()
        return tuple(range(before + low, before + high + 1))
