"""What whoever handles counted goods must know: of a disinfectant, what its agent does."""

from django.utils.translation import gettext as _

from equipment.models import Goods
from equipment.pages.wash.recipes import agents


def cautions(goods: Goods) -> list[str]:
    """None for what hurts nobody."""
    agent = agents().get(goods.agent)
    return [_(each) for each in agent.cautions] if agent else []
