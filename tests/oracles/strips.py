"""Strips of skin put down one by one: the slow, obvious way to count them."""


def strips(room: int, size: int, lap: int | None) -> list[tuple[int, int]]:
    """Start and length of every strip that covers a room, in whole units; empty where one is too short and none may overlap.

    Each strip begins so far back that it overlaps the one before by the lap.
    """
    if room <= size:
        return [(0, room)]
    if lap is None:
        return []
    laid, end = [(0, size)], size
    while end < room:
        start = end - lap
        end = min(start + size, room)
        laid.append((start, end - start))
    return laid
