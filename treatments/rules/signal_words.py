"""Signal words of labels, in both languages."""

# As labels print them; the pairing is common practice on labels in the United States.
SIGNAL_WORDS = {
    "DANGER POISON": "DANGER POISON / PELIGRO VENENO",
    "DANGER": "DANGER / PELIGRO",
    "WARNING": "WARNING / AVISO",
    "CAUTION": "CAUTION / PRECAUCIÓN",
}


def in_both_languages(word: str) -> str:
    """Return a signal word in both languages, as the label prints it; any other text as it is.

    >>> in_both_languages("WARNING")
    'WARNING / AVISO'
    """
    return SIGNAL_WORDS.get(word, word)
