"""Running numbers of the codes on tags, badges, crews and sets."""

from collections.abc import Callable, Iterable

from django.db import models, transaction

from equipment.domain import codes


class NumberSeries(models.Model):
    """The last number given out under a two-letter prefix."""

    prefix = models.CharField(max_length=2, primary_key=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.prefix} {self.last}"

    @classmethod
    def take(cls, prefix: str, count: int, taken: Callable[[list[str]], Iterable[str]]) -> list[str]:
        """The next `count` free codes of `prefix`.

        `taken` says which of the codes it is given are already in use (a farm may have numbered gear by hand or by
        import), so that a number is never given twice. A number that a slip of the fingers turns into another that
        may be given is left out.
        """
        with transaction.atomic():
            series, _ = cls.objects.select_for_update().get_or_create(prefix=prefix)
            free: list[str] = []
            while len(free) < count:
                wanted = count - len(free)
                numbers = range(series.last + 1, series.last + wanted + 1)
                batch = [
                    codes.make(prefix, number) for number in numbers if codes.may_be_given(prefix, number)
                ]
                series.last += wanted
                used = set(taken(batch))
                free += [code for code in batch if code not in used]
            series.save(update_fields=["last"])
        return free
