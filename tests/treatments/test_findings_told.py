"""Findings and figures as a page tells them."""

import pytest

from treatments.templatetags.findings import with_whole_numbers


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # The groups of a registration number are joined by hyphens [EPA-LRM-14] [40CFR152-132].
        ("EPA number 0-101.", 'EPA number <span class="unbroken">0-101</span>.'),
        ("(0-101-7)", '(<span class="unbroken">0-101-7</span>)'),
        ("salts 49 %, oil", 'salts <span class="unbroken">49 %</span>, oil'),
        ("a 3-year-old hedge", "a 3-year-old hedge"),
        (
            "<b>0-1</b> & lot A-1",
            '&lt;b&gt;<span class="unbroken">0-1</span>&lt;/b&gt; &amp; lot A-1',
        ),
    ],
)
def test_a_registration_number_does_not_break_at_its_hyphens(text, told):
    assert with_whole_numbers(text) == told
