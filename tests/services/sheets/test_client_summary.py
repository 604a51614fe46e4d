"""The client's letter: the time of keeping off is read first, and unknown is never safe."""

from dataclasses import replace

import pytest

from services.sheets.application_record import LogHead
from services.sheets.client_summary import draw_client_summaries, draw_client_summary


def test_a_letter_takes_one_page(summary, pages_of):
    assert len(pages_of(draw_client_summary(summary))) == 1


def test_a_letter_with_the_head_of_the_journal_takes_one_page(summary, pages_of, text_of):
    # a checkpoint with a signature of Ed25519 is about as long [C2SP-CHECKPOINT]
    head = LogHead(1204, "3f2a9c" * 10 + "abcd", "duskbook/journal-3f2a9c3f2a9c3f2a\n" + "x" * 220)

    letter = draw_client_summary(replace(summary, log_head=head))

    assert len(pages_of(letter)) == 1
    assert "1204 entries, root 3f2a9c3f2a9c3f2a …" in text_of(letter)


def test_the_time_of_keeping_off_stands_before_the_greeting(summary, text_of):
    text = text_of(draw_client_summary(summary))

    # Thirteen hours after 20:00 UTC on June 18 is 09:00 UTC, in New York 5:00 am.
    assert text.index("Friday, June 19, 2026, 5:00 am") < text.index("Dear Adela Moorcroft,")


def test_the_time_of_keeping_off_is_the_largest_type(summary, pages_of):
    signs = pages_of(draw_client_summary(summary))[0].chars
    largest = max(sign["size"] for sign in signs)

    words = "".join(sign["text"] for sign in signs if sign["size"] == largest)

    assert words == "Friday, June 19, 2026, 5:00 am"


def test_an_unknown_time_is_not_shown_as_safe(summary, text_of):
    text = text_of(draw_client_summary(replace(summary, keep_off_until=None)))

    assert "Keep people and pets off the treated plants until we tell you." in text
    assert "Call us: 555-0100" in text


def test_each_letter_has_a_foot_in_the_language_of_its_reader(summary, pages_of):
    spanish = replace(summary, imprint=replace(summary.imprint, language="es"))

    pages = pages_of(draw_client_summaries([summary, spanish], summary.imprint))

    feet = [page.extract_text() for page in pages]
    assert ["page 1 of 1" in foot for foot in feet] == [True, False]
    assert ["página 1 de 1" in foot for foot in feet] == [False, True]


def test_the_letter_follows_the_language_of_its_dates(summary, text_of):
    spanish = replace(summary, imprint=replace(summary.imprint, language="es"))

    assert "viernes 19 de junio de 2026, 5:00" in text_of(draw_client_summary(spanish))


@pytest.mark.parametrize(
    "words",
    [
        "Rose bed: Mitestop 2 SC (etoxazole, EPA number 00000-0142). It stops mite eggs.",
        "There were six mites on a leaf.",
        "New leaves come green in three weeks.",
        "The next visit is planned for Thursday, June 25, 2026, if the weather allows.",
        "1-800-222-1222",  # [EPA-EMERGENCY]
        "Applied under DEMO-000",
        "local codes and the advice of a licensed applicator",
        "mites per leaf",
    ],
)
def test_the_letter_says(summary, text_of, words):
    assert words in text_of(draw_client_summary(summary))


def test_a_letter_without_counts_has_no_chart(summary, text_of):
    text = text_of(draw_client_summary(replace(summary, season=None, next_visit_on=None)))

    assert "mites per leaf" not in text
    assert "No further visit is planned." in text
