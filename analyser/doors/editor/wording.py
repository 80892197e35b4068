"""What the reference says of a word of the language, for one who points at it."""

from __future__ import annotations

from functools import cache

from analyser.doors.editor.names import Keyword
from analyser.language.reference import Topic, topics


def of_the_language(keyword: Keyword) -> str:
    """What the reference's tables say of a keyword and those after it, with the example they have. In Markdown."""
    for length in range(len(keyword.phrase), 0, -1):
        phrase = " ".join(keyword.phrase[:length])
        for topic in _by_first_word().get(phrase.split()[0], ()):
            if topic.name == phrase or any(form == phrase or form.startswith(f"{phrase} ") for form in topic.forms):
                on = f" ({topic.on})" if topic.on else ""
                example = f"\n\n```rig\n{topic.example.lines}\n```" if topic.example else ""
                return f"**{phrase}**, {topic.group}{on}: {topic.means}{example}"
    return ""


@cache
def _by_first_word() -> dict[str, list[Topic]]:
    found: dict[str, list[Topic]] = {}
    for topic in topics():
        for word in {topic.name.split()[0], *(form.split()[0] for form in topic.forms if form)}:
            found.setdefault(word, []).append(topic)
    return found
