"""Orders in which every set follows every other equally often: Williams designs."""


def williams_orders(sets: int) -> tuple[tuple[int, ...], ...]:
    """Return orders balanced for place and for what came just before.

    Parameters
    ----------
    sets
        How many sets, numbered from 0.

    Returns
    -------
    tuple of tuple of int
        For an even number of sets as many orders as sets, in which each set stands once at every
        place and follows each other set once; for an odd number twice as many, and twice. Use
        whole multiples of them, or the balance is lost. Empty for no set, one order for one.

    References
    ----------
    Williams EJ (1949) Australian Journal of Scientific Research A 2:149-168.
    """
    if sets < 2:
        return ((0,),) * sets
    zigzag = [(step + 1) // 2 if step % 2 else (sets - step // 2) % sets for step in range(sets)]
    forward = tuple(tuple((place + shift) % sets for place in zigzag) for shift in range(sets))
    if sets % 2 == 0:
        return forward
    return forward + tuple(tuple(reversed(order)) for order in forward)
