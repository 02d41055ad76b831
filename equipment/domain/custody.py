"""What speaks against a change of custody. The gate asks before, the fold afterwards: one rule for both."""

from equipment.domain.values import ItemState


def against_handing_out(state: ItemState, store: str, from_holder: str | None) -> tuple[str, ...]:
    """Codes that contradict handing the item out at `store`.

    `from_holder` is `holder(...)` of the person or crew that gives it away in a change of hands, else None.
    """
    if state.place == "gone":
        return ("written_off",)
    if state.place == "missing":
        return ("missing",)
    if state.out:
        return () if from_holder and from_holder == holder(state.picker, state.crew) else ("already_out",)
    if from_holder:
        return ("not_out",)
    return () if state.store == store else ("other_store",)


def holder(picker: int | None, crew: str | None) -> str | None:
    """One word for who holds an item: `picker:12`, `crew:CW0003X`, or None."""
    if picker is not None:
        return f"picker:{picker}"
    return f"crew:{crew}" if crew else None
