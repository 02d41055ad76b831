"""An oracle for evening plans: how many of what is asked for some pieces can serve, found by trying."""

from collections.abc import Mapping, Sequence

Sort = tuple[str, str, str]
"""Kind, size and hand; "" for one that is not known."""


def does_for(piece: Sort, asked: Sort) -> bool:
    kind, *traits = zip(piece, asked, strict=True)
    return kind[0] == kind[1] and all(mine == wanted or "" in (mine, wanted) for mine, wanted in traits)


def most_served(asked: Mapping[Sort, int], there: Sequence[Sort]) -> int:
    """Each piece in turn takes a seat, and whoever has it looks for another (Kuhn's augmenting paths, from memory)."""
    seats = [sort for sort, pieces in asked.items() for _ in range(pieces)]
    taken: dict[int, int] = {}

    def place(piece: int, seen: set[int]) -> bool:
        for seat, sort in enumerate(seats):
            if does_for(there[piece], sort) and seat not in seen:
                seen.add(seat)
                if seat not in taken or place(taken[seat], seen):
                    taken[seat] = piece
                    return True
        return False

    return sum(place(piece, set()) for piece in range(len(there)))
