"""The cautions that stand on every sheet."""

from services.sheets.words import words_in
from treatments.rules.signal_words import in_both_languages


def signal_word(word: str, language: str) -> str:
    """Return a signal word in both languages, as the label prints it.

    >>> signal_word("WARNING", "en")
    'WARNING / AVISO'
    """
    _ = words_in(language)
    return in_both_languages(word) or _("The label prints no signal word.")


def label_caution(language: str) -> str:
    """Return the sentence that puts the label above the sheet."""
    _ = words_in(language)
    return _(
        "The label is the law. Where this sheet and the label differ, follow the label; "
        "if you cannot, do not spray."
    )


def licence_caution(language: str) -> str:
    """Return the sentence that puts local codes and licensed practice first."""
    _ = words_in(language)
    return _("Local codes and a licensed applicator decide; this paper replaces neither.")


def short_caution(language: str) -> str:
    """Return both cautions in one line, for a page on which every line counts."""
    _ = words_in(language)
    return _("The label is the law; local codes and a licensed applicator come before this sheet.")


def client_caution(language: str) -> str:
    """Return the cautions in the words of a letter to a client."""
    _ = words_in(language)
    return _(
        "What the product's label says, local codes and the advice of a licensed applicator "
        "come before this letter."
    )


def unverified_caution(place: str, language: str) -> str:
    """Return the sentence that marks rules that nobody has verified for a place."""
    _ = words_in(language)
    return _(
        "The rules for %(place)s are not verified here: ask the state agency or a licensed "
        "applicator."
    ) % {"place": place}
