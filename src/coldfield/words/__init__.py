"""What Coldfield says, in every language that has a folder."""

from coldfield.words.languages import ENGLISH, Language, catalogue, language_of, languages
from coldfield.words.saying import column, say, speaking, spoken, spoken_now, word

__all__ = [
    "ENGLISH",
    "Language",
    "catalogue",
    "column",
    "language_of",
    "languages",
    "say",
    "speaking",
    "spoken",
    "spoken_now",
    "word",
]
