"""Keys and signatures against RFC 8032, and against openssl and ssh-keygen themselves."""

import subprocess
from pathlib import Path

import pytest

from bot.record.arithmetic import fingerprint
from bot.record.errors import StoreError
from bot.record.keys import (
    INSIDE,
    NOT_A_KEY,
    READABLE,
    Signer,
    is_signed,
    make_key,
    private_pem,
    public_pem,
    read_key,
    ssh_line,
)

# RFC 8032 section 7.1, tests 1 to 3: secret, public, message, signature.
VECTORS = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("seed", "public", "message", "signature"), VECTORS)
def test_published_signatures(seed: str, public: str, message: str, signature: str) -> None:
    signer = Signer(bytes.fromhex(seed))
    assert signer.public.hex() == public
    assert signer.sign(bytes.fromhex(message)).hex() == signature
    assert is_signed(signer.public, bytes.fromhex(message), bytes.fromhex(signature))
    assert not is_signed(signer.public, b"another", bytes.fromhex(signature))
    assert not is_signed(signer.public, bytes.fromhex(message), bytes(64))


def test_openssl_and_ssh_keygen_read_the_keys(tmp_path: Path) -> None:
    seed, public, *_ = VECTORS[0]
    (tmp_path / "key").write_text(private_pem(bytes.fromhex(seed)))
    (tmp_path / "pub").write_text(public_pem(bytes.fromhex(public)))
    (tmp_path / "ssh").write_text(ssh_line(bytes.fromhex(public)) + " check\n")
    ours = (tmp_path / "pub").read_text()
    made = ["openssl", "pkey", "-in", tmp_path / "key", "-pubout"]
    assert subprocess.run(made, capture_output=True, text=True, check=True).stdout == ours
    shown = ["ssh-keygen", "-l", "-f", tmp_path / "ssh"]
    found = subprocess.run(shown, capture_output=True, text=True, check=True).stdout
    assert found.split()[1] == fingerprint(bytes.fromhex(public))


def test_only_its_owner_can_read_the_file_and_it_is_never_overwritten(tmp_path: Path) -> None:
    path, data = tmp_path / "one.key", tmp_path / "data"
    assert read_key(path, data) is None
    made = make_key(path)
    assert path.stat().st_mode & 0o777 == 0o600
    found = read_key(path, data)
    assert found is not None
    assert found.public == made.public
    with pytest.raises(StoreError):
        make_key(path)
    assert read_key(path, data).public == made.public  # type: ignore[union-attr]


@pytest.mark.parametrize("mode", [0o604, 0o640, 0o660, 0o666, 0o601])
def test_a_key_that_others_can_use_is_refused(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "one.key"
    make_key(path)
    path.chmod(mode)
    with pytest.raises(StoreError) as refused:
        read_key(path, tmp_path / "data")
    assert refused.value.words is READABLE
    assert f"{mode:03o}" in refused.value.what


def test_a_key_in_the_data_folder_is_refused(tmp_path: Path) -> None:
    make_key(tmp_path / "data" / "deep" / "one.key")
    (tmp_path / "door").symlink_to(tmp_path / "data")
    for path in ("data/deep/one.key", "data/../data/one.key", "door/deep/one.key"):
        with pytest.raises(StoreError) as refused:
            read_key(tmp_path / path, tmp_path / "data")
        assert refused.value.words is INSIDE


@pytest.mark.parametrize("text", ["", "\n\n", "no key", private_pem(bytes(31)), "\xff" * 90])
def test_a_file_that_is_not_a_key_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "one.key"
    path.write_text(text, "latin-1")
    path.chmod(0o600)
    with pytest.raises(StoreError) as refused:
        read_key(path, tmp_path / "data")
    assert refused.value.words is NOT_A_KEY
