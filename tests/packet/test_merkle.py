"""Merkle trees against published values, and against their own definition.

Leaves, roots and proofs are those of the test suite of the Certificate Transparency reference
implementation (RFC 6962 and RFC 9162 hash trees alike).
"""

import hashlib
import random

import pytest

from bot.record.merkle import (
    EMPTY,
    Tree,
    consistency,
    inclusion,
    is_consistent,
    is_included,
    leaf_hash,
    root_of,
)

DATA = [
    "", "00", "10", "2021", "3031", "40414243", "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
]  # fmt: skip
LEAVES = [leaf_hash(bytes.fromhex(one)) for one in DATA]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
A = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
B = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
C = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
D = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
E = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
F = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
INCLUSIONS = [
    (0, 1, []),
    (0, 8, [A, B, C]),
    (5, 8, [D, E, ROOTS[3]]),
    (2, 3, [ROOTS[1]]),
    (1, 5, [ROOTS[0], B, D]),
]
CONSISTENCIES = [(1, 1, []), (1, 8, [A, B, C]), (6, 8, [F, E, ROOTS[3]]), (2, 5, [B, D])]


def hexes(nodes: list[bytes]) -> list[str]:
    return [node.hex() for node in nodes]


@pytest.mark.parametrize("size", range(1, 9))
def test_published_roots(size: int) -> None:
    assert root_of(LEAVES[:size]).hex() == ROOTS[size - 1]


def test_the_root_of_nothing() -> None:
    # RFC 9162 2.1.1: the hash of an empty list is that of an empty string (FIPS 180-4).
    assert EMPTY.hex() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert root_of([]) == EMPTY


@pytest.mark.parametrize(("place", "size", "proof"), INCLUSIONS)
def test_published_inclusions(place: int, size: int, proof: list[str]) -> None:
    nodes = inclusion(LEAVES[:size], place)
    assert hexes(nodes) == proof
    assert is_included(LEAVES[place], place, size, nodes, root_of(LEAVES[:size]))


@pytest.mark.parametrize(("earlier", "size", "proof"), CONSISTENCIES)
def test_published_consistencies(earlier: int, size: int, proof: list[str]) -> None:
    nodes = consistency(LEAVES[:size], earlier)
    assert hexes(nodes) == proof
    roots = root_of(LEAVES[:earlier]), root_of(LEAVES[:size])
    assert is_consistent(earlier, size, *roots, nodes)


def definition(leaves: list[bytes]) -> bytes:
    """RFC 9162 2.1.1, word for word."""
    n = len(leaves)
    if n < 2:
        return leaves[0] if leaves else hashlib.sha256().digest()
    k = 1
    while k * 2 < n:
        k *= 2
    return hashlib.sha256(b"\x01" + definition(leaves[:k]) + definition(leaves[k:])).digest()


def test_every_small_tree_by_its_definition() -> None:
    leaves = [leaf_hash(bytes([n])) for n in range(33)]
    tree = Tree()
    for size in range(34):
        assert tree.size == size
        assert tree.root() == definition(leaves[:size])
        if size < 33:
            tree.add(leaves[size])
    for size in range(1, 34):
        root = definition(leaves[:size])
        for place in range(size):
            assert is_included(leaves[place], place, size, inclusion(leaves[:size], place), root)
            proof = consistency(leaves[:size], place + 1)
            assert is_consistent(place + 1, size, definition(leaves[: place + 1]), root, proof)


def test_a_proof_holds_for_nothing_else() -> None:
    chance = random.Random(1)  # noqa: S311  no secret
    leaves = [leaf_hash(bytes([n])) for n in range(21)]
    root = root_of(leaves)
    for place in range(21):
        proof = inclusion(leaves, place)
        assert not is_included(leaves[(place + 1) % 21], place, 21, proof, root)
        assert not is_included(leaves[place], (place + 1) % 21, 21, proof, root)
        assert not is_included(leaves[place], place, 21, proof[:-1], root)
        assert not is_included(leaves[place], place, 21, [*proof, root], root)
        assert not is_included(leaves[place], place, 21, proof, chance.randbytes(32))
        broken = list(proof)
        broken[chance.randrange(len(broken))] = chance.randbytes(32)
        assert not is_included(leaves[place], place, 21, broken, root)
    for earlier in range(1, 21):
        proof, was = consistency(leaves, earlier), root_of(leaves[:earlier])
        assert not is_consistent(earlier, 21, chance.randbytes(32), root, proof)
        assert not is_consistent(earlier, 21, was, chance.randbytes(32), proof)
        assert not is_consistent(earlier, 21, was, root, [*proof, was])
        assert not is_consistent(earlier, 21, was, root, proof[:-1])
    assert not is_included(leaves[0], 0, 0, [], root)
    assert not is_consistent(0, 21, EMPTY, root, [])
    assert not is_consistent(22, 21, root, root, [])


@pytest.mark.parametrize("place", [-1, 21])
def test_what_a_tree_does_not_have_has_no_proof(place: int) -> None:
    leaves = [leaf_hash(bytes([n])) for n in range(21)]
    with pytest.raises(ValueError, match="allowed: 0 to 20"):
        inclusion(leaves, place)
    with pytest.raises(ValueError, match="allowed: 1 to 21"):
        consistency(leaves, place + 1)
