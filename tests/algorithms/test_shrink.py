"""A core shrunk to a minimal one, against what makes it one."""

from hypothesis import given
from hypothesis import strategies as st

from combo.algorithms.shrink import shrink_to_mus

MEMBERS = "abcdefgh"


@given(
    st.lists(st.frozensets(st.sampled_from(MEMBERS), min_size=1), min_size=1, max_size=5),
    st.permutations(MEMBERS),
    st.booleans(),
)
def test_what_is_left_is_a_core_and_without_any_one_of_it_none_is(conflicts, order, is_told_whole):
    def core_of(kept):
        found = [own for own in conflicts if own <= kept]
        return (kept if is_told_whole else found[0]) if found else None

    shrunk = shrink_to_mus(frozenset(MEMBERS), core_of, order)
    assert core_of(shrunk) is not None
    assert all(core_of(shrunk - {member}) is None for member in shrunk)


def test_what_is_not_known_to_be_a_core_stays():
    assert shrink_to_mus(frozenset("abc"), lambda kept: None, "abc") == frozenset("abc")


def test_few_questions_are_asked_where_little_is_needed():
    asked = []

    def core_of(kept):
        asked.append(kept)
        return kept if "h" in kept else None

    assert shrink_to_mus(frozenset(MEMBERS), core_of, MEMBERS) == frozenset("h")
    assert len(asked) <= 5
