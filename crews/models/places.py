"""Stores and orchard blocks. Their codes are their keys: the book names them so for ever, only names may change."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Store(models.Model):
    """A shed with one or more counters; the book is kept per store."""

    code = models.CharField(_("code"), max_length=20, primary_key=True)
    name = models.CharField(_("name"), max_length=80)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.name


class Block(models.Model):
    """An orchard block, of this farm or (`farm` filled in) of another one that the crews pick for."""

    code = models.CharField(_("code"), max_length=20, primary_key=True)
    name = models.CharField(_("name"), max_length=80, blank=True)
    crop = models.CharField(_("crop"), max_length=40)
    variety = models.CharField(_("variety"), max_length=60, blank=True)
    tall_trees = models.BooleanField(_("tall trees"), default=False)
    hectares = models.DecimalField(_("hectares"), max_digits=7, decimal_places=2, null=True, blank=True)
    farm = models.CharField(_("other farm"), max_length=80, blank=True)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.code
