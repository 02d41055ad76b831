"""Kinds of gear, tagged items, their labels, and the sets they are packed in."""

from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class Kind(models.Model):
    """A class of gear. `load_catalogue` fills the table; the farm may change prefix, custody and return rule."""

    class IssuedTo(models.TextChoices):
        PICKER = "picker", _("picker")
        CREW = "crew", _("crew")

    class ComesBack(models.TextChoices):
        TONIGHT = "tonight", _("tonight")
        SEASON = "season", _("at season's end")
        NEVER = "never", _("never")

    code = models.CharField(_("code"), max_length=30, primary_key=True)
    name = models.CharField(_("name"), max_length=60)
    name_plural = models.CharField(_("plural"), max_length=60)
    prefix = models.CharField(_("tag prefix"), max_length=2, unique=True)
    issued_to = models.CharField(_("handed out to"), max_length=6, choices=IssuedTo)
    comes_back = models.CharField(_("comes back"), max_length=7, choices=ComesBack)
    sizes = models.JSONField(_("sizes"), default=list, blank=True)
    hands = models.BooleanField(_("left and right"), default=False)
    icon = models.CharField(max_length=30, blank=True)
    own = models.BooleanField(
        _("changed by the farm"),
        default=False,
        help_text=_("Kept as it is when the catalogue is loaded again."),
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("position", "code")

    def __str__(self) -> str:
        return gettext(self.name)


class Item(models.Model):
    """One tagged piece. Its id is that of the `registered` entry that created it; what it is never changes here,
    where it is and in what state is a fold of the book (`ItemState`)."""

    id = models.UUIDField(primary_key=True)
    kind = models.ForeignKey(Kind, models.PROTECT, verbose_name=_("kind"), related_name="items")
    make = models.CharField(_("make"), max_length=60, blank=True)
    size = models.CharField(_("size"), max_length=20, blank=True)
    hand = models.CharField(_("hand"), max_length=5, blank=True)
    owner = models.CharField(_("owner"), max_length=80, blank=True)
    price = models.DecimalField(_("price"), max_digits=10, decimal_places=2, null=True, blank=True)
    supplier = models.CharField(_("supplier"), max_length=80, blank=True)
    delivery = models.CharField(_("delivery"), max_length=60, blank=True)
    bought_on = models.DateField(_("bought on"), null=True, blank=True)
    material = models.CharField(_("material"), max_length=20, blank=True)
    legs = models.PositiveSmallIntegerField(_("legs"), null=True, blank=True)
    length_m = models.DecimalField(
        _("length in metres"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    rating_kg = models.PositiveSmallIntegerField(_("duty rating in kg"), null=True, blank=True)

    def __str__(self) -> str:
        return str(self.id)

    @property
    def traits(self) -> dict[str, str]:
        return {"size": self.size, "hand": self.hand}


class Label(models.Model):
    """A code that finds an item: the one it wears, or one it wore before it was retagged."""

    code = models.CharField(max_length=20, primary_key=True)
    item = models.ForeignKey(Item, models.CASCADE, related_name="labels")

    def __str__(self) -> str:
        return self.code


class GearSet(models.Model):
    """The tag of a crate or bundle in which items are packed together; its contents are a fold of the book."""

    code = models.CharField(_("code"), max_length=20, primary_key=True)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.code
