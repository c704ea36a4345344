"""The glossary: a picture for every word, and the words beside the fields that ask for them."""

from __future__ import annotations

import html
import re

import pytest
from django.contrib.auth.models import User
from django.template.loader import render_to_string
from django.test import Client

from bowlers.models import Bowler
from proshop.glossary import BY_TERM, PARTS, SAID_ELSE, Word, beside
from proshop.models import Shop
from tests.furnished import furnish

WORDS = [word for part in PARTS for word in part.words]


@pytest.mark.parametrize("word", WORDS, ids=lambda word: word.key)
def test_every_word_has_a_picture_told_in_words(word: Word) -> None:
    drawn = render_to_string("proshop/_glossary_picture.html", {"picture": word.picture})
    assert drawn.count("<svg") == 1
    assert re.search(r'role="img" aria-label="[^"]{25,}"', drawn)


@pytest.mark.parametrize("word", WORDS, ids=lambda word: word.key)
def test_what_is_written_into_a_picture_is_told_too(word: Word) -> None:
    drawn = html.unescape(
        render_to_string("proshop/_glossary_picture.html", {"picture": word.picture})
    )
    told = re.findall(r'aria-label="([^"]*)"', drawn)[0].lower()
    written = re.findall(r"<text[^>]*>(.*?)</text>", drawn, re.DOTALL)
    labels = [re.sub(r"<[^>]+>", "", text).strip().lower() for text in written]
    assert [label for label in labels if label not in told] == []


def test_no_word_is_there_twice() -> None:
    assert len(BY_TERM) == len(WORDS)
    assert len({word.key for word in WORDS}) == len(WORDS)


def test_labels_lead_to_words_that_are_there() -> None:
    assert set(SAID_ELSE.values()) <= set(BY_TERM)
    assert beside("Low RG (in)") is BY_TERM["rg"]
    assert beside("Serial number") is None


@pytest.mark.parametrize(
    ("path", "term"),
    [
        ("/bag/{ball}/edit/", "Drilling angle"),
        ("/catalogue/models/new/", "Cover"),
        ("/fittings/{fitting}/", "Axis tilt"),
    ],
)
def test_help_stands_beside_the_field_and_leads_to_the_picture(
    path: str, term: str, shop: Shop, staff: User, staff_client: Client
) -> None:
    furnish(shop, staff)
    bowler = Bowler.objects.get()
    there = path.format(ball=bowler.bag.get().pk, fitting=bowler.fittings.get().pk)
    if "models" in path:
        there = f"/models/{bowler.bag.get().spec.model_id}/edit/"
    page = staff_client.get(there).content.decode()
    word = BY_TERM[term.lower()]
    assert f"What “{term}” means" in page
    assert f"/glossary/#{word.key}" in page


def test_like_rows_are_explained_once(shop: Shop, staff: User, staff_client: Client) -> None:
    furnish(shop, staff)
    page = staff_client.get(f"/bag/{Bowler.objects.get().bag.get().pk}/edit/").content.decode()
    assert page.count("What “Pitch” means") <= 2
