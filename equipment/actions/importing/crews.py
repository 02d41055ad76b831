"""Crews, known by their name; their code is made here unless the farm has one already."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Crew, FormerLead, NumberSeries, Store, User
from equipment.actions.appeared import appeared
from equipment.actions.importing.cells import Line, MadeCode, Words80, Words120
from equipment.actions.importing.kinds import ByName, Given, ListKind, differences, save
from equipment.actions.importing.results import Findings, bad
from equipment.domain import codes


class CrewLine(Line):
    name: Words80
    store: Words80
    supervisor: Words120 = ""
    code: MadeCode = ""


def compare(given: Given) -> Findings:
    crews = list(Crew.objects.select_related("store", "supervisor"))
    by_name, by_code = ByName(crews, lambda crew: [crew.name]), {crew.pk: crew for crew in crews}
    references = _References()
    findings, new, changed = Findings(), [], []
    for line, row in given.lines:
        wanted = references.wanted(line, row, given, findings)
        crew = by_name.find(row.name)
        if problem := _wrong_code(row.code, crew, by_code):
            findings.bad.append(bad(line, "code", row.code, problem))
        elif crew is None:
            new.append(Crew(code=row.code, name=row.name, **wanted))
            findings.added.append(row.name)
        elif findings.note(line, row.name, differences(crew, {"name": row.name, "active": True, **wanted})):
            save(crew, {"name": row.name, "active": True, **wanted})
            changed.append(crew)

    def write() -> None:
        Crew.objects.bulk_create(_with_codes(new))
        FormerLead.note(changed, given.at)
        Crew.objects.bulk_update(changed, ["name", "store", "supervisor", "active"])
        appeared([crew.pk for crew in new])

    findings.write = write
    return findings


class _References:
    """Stores and supervisors by the words that stand in the file."""

    def __init__(self) -> None:
        self.stores = ByName(Store.objects.all(), lambda store: [store.pk, store.name])
        users = User.objects.filter(is_active=True).prefetch_related("groups")
        self.users = ByName(users, lambda user: [user.username, user.get_full_name()])

    def wanted(self, line: int, row: CrewLine, given: Given, findings: Findings) -> Mapping[str, Any]:
        wanted: dict[str, Any] = {"store": self.stores.find(row.store)}
        if wanted["store"] is None:
            findings.bad.append(
                bad(line, "store", row.store, _("There is no such store. Import the stores first."))
            )
        if "supervisor" in given.columns:
            wanted["supervisor"] = user = self.users.find(row.supervisor) if row.supervisor else None
            if row.supervisor and user is None:
                reason = _(
                    "Nobody signs in by this name. Leave it empty, or let the manager make the user first."
                )
                findings.bad.append(bad(line, "supervisor", row.supervisor, reason))
            elif user and policy.SUPERVISOR not in {group.name for group in user.groups.all()}:
                said = _("%(user)s leads %(crew)s but has not the role of a supervisor.")
                findings.warnings.append(said % {"user": user.username, "crew": row.name})
        return wanted


def _wrong_code(code: str, crew: Crew | None, by_code: Mapping[str, Crew]) -> str:
    """Why this code cannot be the crew's; empty where it can, or none is given."""
    if not code or (crew and crew.pk == code):
        return ""
    if crew:
        return _("%(crew)s has the code %(code)s, and a code never changes.") % {
            "crew": crew.name,
            "code": crew.pk,
        }
    if codes.parse(code).prefix != codes.CREW:
        return _("A crew's code begins with %(prefix)s.") % {"prefix": codes.CREW}
    if code in by_code:
        return _("This is the code of %(crew)s.") % {"crew": by_code[code].name}
    return ""


def _with_codes(crews: list[Crew]) -> list[Crew]:
    nameless = [crew for crew in crews if not crew.code]
    given = {crew.code for crew in crews}
    free = NumberSeries.take(
        codes.CREW,
        len(nameless),
        lambda wanted: {*given, *Crew.objects.filter(pk__in=wanted).values_list("pk", flat=True)},
    )
    for crew, code in zip(nameless, free, strict=True):
        crew.code = code
    return crews


KIND = ListKind(
    name="crews",
    words=gettext_lazy("Crews"),
    about=gettext_lazy(
        "One row a crew. A crew is known again by its name. The store is named by its code, the supervisor by the name "
        "they sign in with; a code of its own only where the crew has a tag already."
    ),
    line=CrewLine,
    key=("name",),
    compare=compare,
    sample={"name": "Hoopoe", "store": "HOME", "supervisor": "supervisor"},
    once=("code",),
)
