"""What Coldfield says, in every language there is a folder for."""

from coldfield.words.languages import ENGLISH, Language, catalogue, language_of, languages
from coldfield.words.saying import say, speaking, spoken, word

__all__ = [
    "ENGLISH",
    "Language",
    "catalogue",
    "language_of",
    "languages",
    "say",
    "speaking",
    "spoken",
    "word",
]
