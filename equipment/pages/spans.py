"""How long something lasts, in words."""

from datetime import timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)


def length(span: timedelta) -> str:
    """ "35 min", "3 h 20 min", "4 days"; never less than nothing."""
    minutes = max(0, span // MINUTE)
    if span >= 2 * DAY:
        return ngettext("%(n)d day", "%(n)d days", span.days) % {"n": span.days}
    if minutes < 60:
        return _("%(minutes)d min") % {"minutes": minutes}
    words = _("%(hours)d h %(minutes)d min") if minutes % 60 else _("%(hours)d h")
    return words % {"hours": minutes // 60, "minutes": minutes % 60}
