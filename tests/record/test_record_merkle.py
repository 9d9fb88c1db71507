import hashlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicewalk.record.merkle import grown, head_of, leaf_hash, node_hash, size_of, tree_head

# Leaves and roots of the transparency-dev/merkle tests, the reference for RFC 6962 and RFC 9162.
LEAVES = (
    "",
    "00",
    "10",
    "2021",
    "3031",
    "40414243",
    "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
)
ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)


@pytest.mark.parametrize("size", range(9))
def test_head_of_rfc6962_reference_tree(size):
    leaves = [bytes.fromhex(leaf) for leaf in LEAVES[:size]]
    assert tree_head(leaves).hex() == ROOTS[size]


def by_definition(leaves):
    """RFC 6962 section 2.1, word by word."""
    count = len(leaves)
    if count == 0:
        return hashlib.sha256(b"").digest()
    if count == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    cut = 1
    while cut * 2 < count:
        cut *= 2
    left, right = by_definition(leaves[:cut]), by_definition(leaves[cut:])
    return hashlib.sha256(b"\x01" + left + right).digest()


@given(st.lists(st.binary(max_size=40), max_size=70))
def test_one_pass_gives_the_recursive_definition(leaves):
    assert tree_head(leaves) == by_definition(leaves)


@given(st.lists(st.binary(max_size=40), max_size=40))
def test_a_tree_that_grows_leaf_by_leaf_has_every_head_on_its_way(leaves):
    peaks = ()
    for size, leaf in enumerate(leaves, 1):
        peaks = grown(peaks, leaf)
        assert (size_of(peaks), head_of(peaks)) == (size, by_definition(leaves[:size]))


def test_a_leaf_never_passes_for_a_node():
    left, right = leaf_hash(b"a"), leaf_hash(b"b")
    assert leaf_hash(left + right) != node_hash(left, right)


@settings(deadline=None)
@given(st.lists(st.binary(max_size=8), min_size=1, max_size=20), st.data())
def test_any_changed_or_missing_leaf_changes_the_head(leaves, data):
    place = data.draw(st.integers(0, len(leaves) - 1))
    changed = [*leaves[:place], leaves[place] + b"\x01", *leaves[place + 1 :]]
    assert tree_head(changed) != tree_head(leaves)
    assert tree_head(leaves[:-1]) != tree_head(leaves)
