"""How hard a text is to read, by published formulas; the syllables are counted by rules of our own.

English: Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers & Chissom 1975, Research Branch Report 8-75), 0.39 words
a sentence + 11.8 syllables a word - 15.59; the coefficients as many public pages give them (second-hand copy). A grade
is a school year of the United States: 12 years of age is the end of grade 6 or grade 7.
Spanish: perspicuity of Szigriszt Pazos (1993, thesis, Universidad Complutense), 206.835 - 62.3 syllables a word - words
a sentence, with the INFLESZ bands of Barrio Cantalejo et al. 2008 (65 to 80 `quite easy`, 55 to 65 `normal`); from
memory.
"""

from __future__ import annotations

import re

WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")
SENTENCE = re.compile(r"[.!?:]+(?:\s|$)")
SILENT = re.compile(r"(?:[^laeiouy]es|[^aeiouytd]ed|[^l]e)$")
SPANISH_VOWELS = re.compile(r"[aeoáéíóú]|[iuü]")


def measure_english_grade(text: str) -> float:
    """Return the school grade that a text asks for."""
    words, sentences = WORD.findall(text), count_sentences(text)
    syllables = sum(count_english_syllables(word) for word in words)
    return 0.39 * len(words) / sentences + 11.8 * syllables / len(words) - 15.59


def measure_spanish_ease(text: str) -> float:
    """Return the perspicuity of a Spanish text, more is easier."""
    words, sentences = WORD.findall(text), count_sentences(text)
    syllables = sum(count_spanish_syllables(word) for word in words)
    return 206.835 - 62.3 * syllables / len(words) - len(words) / sentences


def count_sentences(text: str) -> int:
    return max(1, len(SENTENCE.findall(text)))


def count_english_syllables(word: str) -> int:
    """Count vowel groups, less a silent ending: `shoulders` 2, `line` 1, `little` 2, `landed` 2."""
    low = word.lower()
    stem = SILENT.sub(lambda match: match.group()[0], low) if len(low) > 3 else low
    return max(1, len(re.findall(r"[aeiouy]+", stem)))


def count_spanish_syllables(word: str) -> int:
    """Count the nuclei: strong and accented vowels each, weak ones where no strong vowel stands beside them."""
    low = re.sub(r"qu(?=[eiéí])", "q", re.sub(r"gu(?=[eiéí])", "g", word.lower())).removesuffix("y")
    groups = re.findall(r"[aeiouáéíóúü]+", low)
    count = sum(max(1, len(re.findall(r"[aeoáéíóú]", group))) for group in groups)
    return max(1, count)
