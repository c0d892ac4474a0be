"""Merkle trees against published values, and against the RFC's definition.

Leaves, roots and proofs are those of the test suite of the Certificate Transparency reference
implementation (RFC 6962 and RFC 9162 hash trees alike).
"""

import hashlib
import random

import pytest

from bot.record.arithmetic import Tree, is_included, leaf_hash
from bot.record.merkle import inclusions, root_of

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
INCLUSIONS = [
    (0, 1, []),
    (0, 8, [A, B, C]),
    (5, 8, [D, E, ROOTS[3]]),
    (2, 3, [ROOTS[1]]),
    (1, 5, [ROOTS[0], B, D]),
]


@pytest.mark.parametrize("size", range(1, 9))
def test_published_roots(size: int) -> None:
    assert root_of(LEAVES[:size]).hex() == ROOTS[size - 1]


def test_the_root_of_nothing() -> None:
    # RFC 9162 2.1.1: the hash of an empty list is that of an empty string (FIPS 180-4).
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert root_of([]).hex() == empty


@pytest.mark.parametrize(("index", "size", "proof"), INCLUSIONS)
def test_published_inclusions(index: int, size: int, proof: list[str]) -> None:
    (nodes,) = inclusions(LEAVES[:size], [index])
    assert [node.hex() for node in nodes] == proof
    assert is_included(LEAVES[index], index, size, nodes, root_of(LEAVES[:size]))


def definition(leaves: list[bytes]) -> bytes:
    """RFC 9162 2.1.1, word for word."""
    n = len(leaves)
    if n < 2:
        return leaves[0] if leaves else hashlib.sha256().digest()
    k = split(n)
    return hashlib.sha256(b"\x01" + definition(leaves[:k]) + definition(leaves[k:])).digest()


def path(m: int, leaves: list[bytes]) -> list[bytes]:
    """RFC 9162 2.1.3.1, word for word."""
    n = len(leaves)
    if n == 1:
        return []
    k = split(n)
    if m < k:
        return [*path(m, leaves[:k]), definition(leaves[k:])]
    return [*path(m - k, leaves[k:]), definition(leaves[:k])]


def split(n: int) -> int:
    k = 1
    while k * 2 < n:
        k *= 2
    return k


def test_every_small_tree_by_its_definition() -> None:
    leaves = [leaf_hash(bytes([n])) for n in range(33)]
    tree = Tree()
    for size in range(34):
        assert tree.size == size
        assert tree.root() == definition(leaves[:size])
        if size < 33:
            tree.add(leaves[size])


@pytest.mark.parametrize("size", range(1, 34))
def test_every_proof_in_a_small_tree_by_its_definition(size: int) -> None:
    leaves = [leaf_hash(bytes([n])) for n in range(size)]
    root = definition(leaves)
    for index, proof in enumerate(inclusions(leaves, range(size))):
        assert proof == path(index, leaves)
        assert is_included(leaves[index], index, size, proof, root)


def test_a_proof_holds_for_nothing_else() -> None:
    chance = random.Random(1)  # noqa: S311  no secret
    leaves = [leaf_hash(bytes([n])) for n in range(21)]
    root = root_of(leaves)
    for index, proof in enumerate(inclusions(leaves, range(21))):
        assert not is_included(leaves[(index + 1) % 21], index, 21, proof, root)
        assert not is_included(leaves[index], (index + 1) % 21, 21, proof, root)
        assert not is_included(leaves[index], index, 21, proof[:-1], root)
        assert not is_included(leaves[index], index, 21, [*proof, root], root)
        assert not is_included(leaves[index], index, 21, proof, chance.randbytes(32))
        broken = list(proof)
        broken[chance.randrange(len(broken))] = chance.randbytes(32)
        assert not is_included(leaves[index], index, 21, broken, root)
    assert not is_included(leaves[0], 0, 0, [], root)
    assert not is_included(root, 0, -1, [], root)
    assert not is_included(root, -1, 1, [], root)


@pytest.mark.parametrize("index", [-1, 21])
def test_a_leaf_outside_the_tree_has_no_proof(index: int) -> None:
    leaves = [leaf_hash(bytes([n])) for n in range(21)]
    with pytest.raises(ValueError, match="allowed: 0 to 20"):
        list(inclusions(leaves, [index]))
