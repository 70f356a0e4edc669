"""Secrets: once, not for long, few tries; keys survive a restart, and only as their digest."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotwright.web.pairing import ALPHABET, LIFETIME_SECONDS, SECRET_LENGTH, Pairing, PairingRefused


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pairing(clock: Clock) -> Pairing:
    return Pairing(None, clock, lambda: "2026-01-01 12:00")


def test_nobody_gets_in_before_a_secret_is_given_out(pairing: Pairing) -> None:
    for guess in ("", "a" * SECRET_LENGTH):
        with pytest.raises(PairingRefused, match="no phone is being waited for"):
            pairing.redeem(guess, "phone")


def test_a_secret_works_until_it_is_too_old(pairing: Pairing, clock: Clock) -> None:
    secret = pairing.new_secret()
    clock.now += LIFETIME_SECONDS - 0.1
    assert pairing.device_of(pairing.redeem(secret, "Red"))
    secret = pairing.new_secret()
    clock.now += LIFETIME_SECONDS
    with pytest.raises(PairingRefused, match="too old"):
        pairing.redeem(secret, "Blue")


def test_a_new_secret_ends_the_old_one(pairing: Pairing) -> None:
    old = pairing.new_secret()
    new = pairing.new_secret()
    assert old != new
    with pytest.raises(PairingRefused):
        pairing.redeem(old, "x")
    pairing.redeem(new, "x")


def test_a_secret_may_be_typed_with_gaps_and_capitals(pairing: Pairing) -> None:
    secret = pairing.new_secret()
    typed = f" {secret[:4].upper()}-{secret[4:8]} {secret[8:]} "
    assert pairing.redeem(typed, "  Red \n phone ")
    assert pairing.devices[0].name == "Red phone"


def test_secrets_have_no_letters_that_look_alike(pairing: Pairing) -> None:
    assert not set(ALPHABET) & set("il1o0")
    assert set(pairing.new_secret()) <= set(ALPHABET)


def test_devices_outlive_a_restart_without_their_keys_on_file(tmp_path: Path, clock: Clock) -> None:
    book = tmp_path / "deep" / "phones.json"
    first = Pairing(book, clock, lambda: "now")
    key = first.redeem(first.new_secret(), "Red")
    text = book.read_text(encoding="utf-8")
    assert key not in text
    assert book.stat().st_mode & 0o077 == 0
    second = Pairing(book, clock, lambda: "now")
    found = second.device_of(key)
    assert found is not None
    second.remove(found.digest)
    assert Pairing(book, clock, lambda: "now").device_of(key) is None


def test_a_damaged_list_lets_nobody_in(tmp_path: Path, clock: Clock) -> None:
    book = tmp_path / "phones.json"
    book.write_text('[{"name": "x"}]', encoding="utf-8")
    assert Pairing(book, clock, lambda: "now").devices == ()
