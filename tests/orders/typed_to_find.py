"""Names of every alphabet, and the ways in which people type what they look for."""

import unicodedata

from hypothesis import strategies as st

from orders.search import words


def without_accents(text):
    return "".join(each for each in unicodedata.normalize("NFKD", text) if not unicodedata.combining(each))


WAYS = {
    "as it is": str,
    "capitals": str.upper,
    "small letters": str.lower,
    "letter and accent apart": lambda text: unicodedata.normalize("NFD", text),
    "without accents": without_accents,
    "without gaps and marks": lambda text: "".join(words(text)),
    "more gaps": lambda text: f"  {'   '.join(text.split())} ",
}
# Up to Latin Extended Additional. Old Greek's iota beneath a letter is a letter of its own in capitals alone.
LETTERS = st.characters(codec="utf-8", categories=["L", "N", "Pd", "Po", "Zs"], max_codepoint=0x1EFF)
NAMES = st.text(LETTERS, min_size=1, max_size=30).filter(words)
