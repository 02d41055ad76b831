"""`api_token`: the token with which a program signs in as a user."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _
from rest_framework.authtoken.models import Token

from crews.models import User


class Command(BaseCommand):
    help = "Print the API token of a user, made if there is none yet; sent as `Authorization: Token ...`."
    requires_migrations_checks = True

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the name the user signs in with")

    def handle(self, *, username: str, **options: Any) -> None:
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(_("Nobody signs in as %(name)s.") % {"name": username})
        if not user.is_active:
            raise CommandError(_("%(name)s may not sign in any more.") % {"name": username})
        token, _made = Token.objects.get_or_create(user=user)
        self.stdout.write(token.key)
