"""Textures as codes for the search, and the plain words for forms."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from themekit.suggest.texture import FORM_WORDS, texture_codes
from themekit.values import FINISHES, FORMS, Jar, Texture

Make = Callable[..., Jar]


def test_codes_are_places_in_the_lists_and_grain_is_in_doublings(jar: Make) -> None:
    jars = [
        jar(1, texture=Texture("sphere", 1.0, "matte")),
        jar(2, texture=Texture("rod", 8.0, "pearl")),
        jar(3, texture=Texture("mix", 0.5, "clear")),
    ]
    made = texture_codes(jars)
    assert [FORMS[i] for i in made.form] == ["sphere", "rod", "mix"]
    assert [FINISHES[i] for i in made.finish] == ["matte", "pearl", "clear"]
    assert made.grain_log2.tolist() == [0, 3, -1]


def test_every_form_and_finish_has_a_code_of_its_own(jar: Make) -> None:
    forms = texture_codes([jar(i, texture=Texture(form=f)) for i, f in enumerate(FORMS)])
    finishes = texture_codes([jar(i, texture=Texture(finish=f)) for i, f in enumerate(FINISHES)])
    assert len(set(forms.form.tolist())) == len(FORMS)
    assert len(set(finishes.finish.tolist())) == len(FINISHES)
    assert (finishes.form == -1).all()
    assert (forms.finish == -1).all()


def test_unknown_is_told_apart_from_every_known(jar: Make) -> None:
    made = texture_codes([jar(1, texture=Texture()), jar(2, texture=Texture(form="blob", finish="dull"))])
    assert made.form.tolist() == made.finish.tolist() == [-1, -1]
    assert np.isnan(made.grain_log2).all()
    assert texture_codes([]).grain_log2.shape == (0,)


@pytest.mark.parametrize("size", [0.3, 1.5, 2.5, 11.0])
def test_grain_comes_back_from_its_logarithm(jar: Make, size: float) -> None:
    made = texture_codes([jar(1, texture=Texture(grain_mm=size))])
    assert made.grain_log2[0] == pytest.approx(math.log2(size))
    assert 2 ** made.grain_log2[0] == pytest.approx(size)


def test_every_form_has_plain_words_that_tell_it_apart() -> None:
    assert set(FORM_WORDS) == set(FORMS)
    assert len(set(FORM_WORDS.values())) == len(FORMS)
