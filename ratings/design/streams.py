"""Streams of random numbers from one seed, none of which tells anything of another."""

import hashlib

import numpy as np


def stream(seed: int, purpose: str, *numbers: int) -> np.random.Generator:
    """Return the stream of a purpose, such as ``codes of sets``.

    Parameters
    ----------
    seed
        The study's seed, of any length; it is a secret of 128 bits.
    numbers
        Which of several streams of that purpose.

    Notes
    -----
    The generators can be run backwards to their start by whoever sees enough of what they gave;
    from the start a hash that cannot be undone (SHA-256) lies between them and the seed, so that
    codes, which everybody sees, do not lead to the orders.
    """
    name = ":".join([purpose, str(seed), *map(str, numbers)])
    return np.random.default_rng(int.from_bytes(hashlib.sha256(name.encode()).digest()))
