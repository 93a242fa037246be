"""Owns the tests of text that is held once a word: it says what plain text says."""

from collections import Counter

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from analysis.log.files.words import coded, in_order, plain, spelt, under_each_other

TEXTS = st.lists(st.sampled_from(["", "P1", "p1", "diver", "Rigger 2"]), max_size=8)


@given(TEXTS, st.integers(0, 8))
def test_words_in_order_sort_and_group_as_their_text_does(text, kept):
    some = pd.DataFrame({"text": in_order(text)}).head(kept)
    held, text = some.assign(text=in_order(some["text"])), text[:kept]
    assert list(held["text"].cat.categories) == sorted(set(text))
    assert held.sort_values("text")["text"].tolist() == sorted(text)
    assert held.groupby("text").size().to_dict() == dict(Counter(text))
    pd.testing.assert_frame_equal(plain(held), pd.DataFrame({"text": text}, dtype="str"))


@given(TEXTS, TEXTS)
def test_frames_of_other_words_are_put_under_each_other_as_text_is(one, other):
    frames = [
        pd.DataFrame({"text": in_order(one), "more": 1.0}),
        pd.DataFrame({"text": other}, dtype="str"),
    ]
    whole = under_each_other(frames)
    assert list(whole["text"].cat.categories) == sorted({*one, *other})
    assert whole["text"].tolist() == [*one, *other]
    assert whole["more"].isna().sum() == len(other)


def test_a_cell_without_a_word_stays_without():
    held = pd.DataFrame({"text": pd.Categorical(["b", None, "a"], categories=["c", "b", "a"])})
    assert list(in_order(held["text"]).categories) == ["a", "b"]
    assert plain(held)["text"].isna().tolist() == [False, True, False]
    assert plain(held)["text"].tolist()[::2] == ["b", "a"]


def test_two_words_of_a_list_may_be_the_same():
    column = spelt(["", "off", ""], np.array([2, 1, 0]))
    assert column.tolist() == ["", "off", ""]
    codes, words = coded(pd.Series(column))
    assert [words[code] for code in codes] == ["", "off", ""]
