"""Loads a signed-in user together with their roles, in one query: the counter asks at every scan."""

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.db.models import F

from crews import starting
from crews.models import User


class RoleBackend(ModelBackend):
    def get_user(self, user_id: int) -> User | None:
        rows = list(User.objects.filter(pk=user_id).annotate(role_name=F("groups__name")))
        if not rows or not self.user_can_authenticate(rows[0]):
            return None
        user = rows[0]
        user.roles = frozenset(row.role_name for row in rows if row.role_name)
        return user

    def user_can_authenticate(self, user: Any) -> bool:
        return super().user_can_authenticate(user) and not starting.is_over(user)
