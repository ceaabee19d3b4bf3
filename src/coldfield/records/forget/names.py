"""Find a person in texts by any spelling of the name, by address and by number, and not other people.

A hit is *sure* if the text has the whole name with its accents, in upper or lower case, in any normal form,
however its parts are joined. It is a guess for a person to check if the text has only a part of the name, the
name without its accents, joined to other letters, or a short name in lower case.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coldfield.records.forget.fold import fold, with_accents

INSTEAD = "(forgotten person)"
"""The words that replace the name."""

_JOINS = "\\s_\\-.,+'\u2019\u2018`\u00b4\u00b7\u2010-\u2015"
_LETTER = r"[^\W\d_]"
_PARTICLES = frozenset(["von", "van", "der", "den", "del", "dos", "das", "the", "und", "and"])
_SPELT = {"\u00e4": "ae", "\u00f6": "oe", "\u00fc": "ue", "\u00f8": "oe", "\u00e5": "aa", "\u00e6": "ae"}
_MAIL = re.compile(r"[^\s,;<>()]+@[^\s,;<>()]+")
_PHONE = re.compile(r"\+?\d[\d\s\-./()]{4,}\d")
_NEVER = r"(?!)"
SHORT = 3
"""A name of up to this length may be an ordinary word if it is in lower case. Setting."""

ORDINARY = 5
"""A name of up to this length may be an ordinary word, such as 'will' or 'rose'. Setting."""

LONG = 10_000
"""In longer texts, names joined to other letters are not sought: too many occur by chance. Setting."""

LEAST_CONTACT = 6
"""Fewer letters or digits are not an address or number that identifies a person. Setting."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A place where a text names the person, or may."""

    start: int
    end: int
    sure: bool


class Wanted:
    """A person to look for in texts.

    Parameters
    ----------
    name, contact : str
        The person's name and contact.
    others : iterable of (name, contact)
        Those of everybody else in the records.
    """

    def __init__(self, name: str, contact: str, others: Iterable[tuple[str, str]]) -> None:
        self.name = name
        self.words = _words(name)
        others = list(others)
        theirs = [words for one, _ in others if _within(self.words, words := _words(one))]
        self.shared = bool(theirs)
        """Whether somebody else has this name too, alone or as part of theirs."""
        longer = [_spoken(words) for words in theirs if len(words) > len(self.words)]
        self._others = re.compile("|".join(longer)) if longer else None
        sure, guessed = _of_contact(contact, [one for _, one in others])
        names = [_spoken(words) for words in _orders(self.words)]
        self._names = re.compile("|".join(names))
        self._sure = re.compile("|".join(sure)) if sure else None
        guessed += _guesses(name, self.words)
        self._guessed = re.compile("|".join(guessed) or _NEVER)
        self._joined = re.compile(_joined(self.words))
        self._letters = {with_accents("".join(words)) for words in _orders(_spoken_words(name))}
        spelt = _words(_spelt(name))
        self._keys = {max(words, key=len) for words in (self.words, spelt)}
        self._keys |= {one for one in self.words if len(one) >= SHORT} | _keys_of(contact)
        self._any = re.compile("|".join([*names, *sure, self._guessed.pattern]))
        self._anyhow = re.compile("|".join([self._any.pattern, self._joined.pattern]))

    def mentioned(self, text: str) -> bool:
        """Return whether there may be a hit at all; fast."""
        return self._found(text, fold(text).text)

    def hits(self, text: str) -> list[Hit]:
        """Return where a text names the person or may, in order, without overlaps."""
        folded = fold(text)
        if not self._found(text, folded.text):
            return []
        others = [found.span() for found in self._others.finditer(folded.text)] if self._others else []
        found: list[tuple[int, int, bool]] = []
        joined = None if len(text) > LONG else self._joined
        for pattern in (self._sure, self._names, self._guessed, joined):
            for one in pattern.finditer(folded.text) if pattern else ():
                start, end = one.span()
                if start == end or any(a < end and start < b for a, b, _ in found):
                    continue
                if any(a <= start and end <= b for a, b in others):
                    continue
                source = folded.span(start, end)
                if pattern is self._joined and not _camel(text, *source):
                    continue
                sure = pattern is self._sure or (pattern is self._names and self._is_name(text, *source))
                found.append((start, end, sure))
        return sorted(
            (Hit(*folded.span(start, end), sure) for start, end, sure in found), key=lambda hit: hit.start
        )

    def _found(self, text: str, folded: str) -> bool:
        if len(text) <= LONG:
            return bool(self._anyhow.search(folded))
        # A pattern takes seconds for tens of MB; searching for a word takes milliseconds.
        return any(key in folded for key in self._keys) and bool(self._any.search(folded))

    def _is_name(self, text: str, start: int, end: int) -> bool:
        said = text[start:end]
        if with_accents(said) not in self._letters:
            return False
        letters = "".join(self.words)
        return len(letters) > SHORT or len(self.words) > 1 or not said.islower() or _alone(text, start, end)

    def named_outright(self, text: str) -> bool:
        """Return whether a text certainly names the person, and not as an ordinary word in lower case."""
        return any(
            hit.sure and (len("".join(self.words)) > ORDINARY or not text[hit.start : hit.end].islower())
            for hit in self.hits(text)
        )

    def is_meant_by(self, text: str) -> bool:
        """Return whether a text is the name, or consists only of parts of it."""
        words = _words(text)
        return bool(words) and set(words) <= set(self.words)


def without(text: str, hits: Sequence[Hit], instead: str = INSTEAD, most: int | None = None) -> str:
    """Return a text with other words for certain hits, cut to the greatest length."""
    pieces, at = [], 0
    for hit in hits:
        if hit.sure:
            pieces += [text[at : hit.start], instead]
            at = hit.end
    return "".join([*pieces, text[at:]])[:most]


def _words(name: str) -> tuple[str, ...]:
    folded = fold(name).text
    return tuple(re.findall(r"[^\W_]+", folded)) or (folded.strip(),)


def _spoken_words(name: str) -> tuple[str, ...]:
    return tuple(re.findall(r"[^\W_]+(?:[\u0300-\u036f]+[^\W_]*)*", name)) or (name.strip(),)


def _orders(words: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the words as they are and, if there are several, also with the last one first."""
    straight = tuple(words)
    return [straight, (straight[-1], *straight[:-1])] if len(straight) > 1 else [straight]


def _within(words: Sequence[str], longer: Sequence[str]) -> bool:
    width = len(words)
    return any(tuple(longer[i : i + width]) == tuple(words) for i in range(len(longer) - width + 1))


def _spoken(words: Sequence[str]) -> str:
    """Return the pattern of a name as separate words, which may be joined in any way."""
    joined = f"[{_JOINS}]{'*' if len(''.join(words)) >= 6 else '+'}".join(map(re.escape, words))
    return f"{_edge(words[0][:1], before=True)}{joined}{_edge(words[-1][-1:], before=False)}"


def _edge(letter: str, *, before: bool) -> str:
    kind = r"\d" if letter.isdigit() else _LETTER
    # Scripts without lower case, such as Chinese, put no spaces between words.
    if letter.isalpha() and letter.upper() == letter.lower():
        return ""
    return f"(?<!{kind})" if before else f"(?!{kind})"


def _guesses(name: str, words: Sequence[str]) -> list[str]:
    guesses = []
    if len("".join(words)) > SHORT:
        guesses.append(f"(?<!{_LETTER}){_bare(words)}(?:s|es|ens)(?!{_LETTER})")
    if len(words) > 1:
        parts = [one for one in words if len(one) >= SHORT and one.isalpha() and one not in _PARTICLES]
        guesses += [_spoken([one]) for one in parts]
    if _spelt(name) != name.casefold():
        guesses.append(_spoken(_words(_spelt(name))))
    return guesses


def _spelt(name: str) -> str:
    """Return a name with umlauts and similar letters written as two letters."""
    return "".join(_SPELT.get(one, one) for one in name.casefold())


def _joined(words: Sequence[str]) -> str:
    return _bare(words) if len("".join(words)) > SHORT else _NEVER


def _bare(words: Sequence[str]) -> str:
    return f"[{_JOINS}]*".join(map(re.escape, words))


def _camel(text: str, start: int, end: int) -> bool:
    """Return whether capital letters mark the start and the end of a name joined to other words."""
    before, after = text[start - 1 : start], text[end : end + 1]
    return text[start].isupper() and not before.isupper() and not after.islower()


def _alone(text: str, start: int, end: int) -> bool:
    """Return whether only a file's ending or signs are beside a name."""
    return not re.search(r"\w", text[:start]) and bool(re.fullmatch(r"\W*|\.\w{1,5}", text[end:]))


def _of_contact(contact: str, others: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return the patterns of addresses and numbers: those of this person only, and those to check."""
    sure: list[str] = []
    guessed: list[str] = []
    beside = [fold(one).text for one in others]
    rest = contact
    for kind in (_MAIL, _PHONE):
        for found in kind.findall(rest):
            pattern = _mail(found) if kind is _MAIL else _phone(found)
            if pattern:
                shared = any(re.search(pattern, one) for one in beside)
                (guessed if shared else sure).append(pattern)
        rest = kind.sub(" ", rest)
    whole = fold(contact).text.strip()
    if not sure and not guessed and len(whole) >= LEAST_CONTACT:
        guessed.append(rf"(?<!\w){re.escape(whole)}(?!\w)")
    return sure, guessed


def _keys_of(contact: str) -> set[str]:
    """Return what a long text must contain if it has an address or number; numbers as written."""
    keys = {fold(one).text.strip(".:") for one in _MAIL.findall(contact)}
    for number in _PHONE.findall(contact):
        digits = re.sub(r"\D", "", number)
        keys |= {digits[-8:], fold(number).text}
    return {*keys, fold(contact).text.strip()} - {""}


def _mail(address: str) -> str:
    folded = fold(address).text.strip(".:")
    return rf"(?<![\w.+-]){re.escape(folded)}(?![\w-])" if len(folded) >= LEAST_CONTACT else ""


def _phone(number: str) -> str:
    digits = re.sub(r"\D", "", number)
    if len(digits) < LEAST_CONTACT:
        return ""
    forms = [digits, *([digits[-8:]] if len(digits) > 8 else [])]
    spaced = "|".join(r"[\s\-./()]*".join(one) for one in forms)
    return rf"(?<!\d)\+?0?(?:{spaced})(?!\d)"
