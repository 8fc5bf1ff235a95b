"""What to ask and test next, and what it costs from where the vehicle stands now."""

from diag.plan.access import Way, way_to
from diag.plan.deciding import Deciding, DecidingActs, Decision, deciding
from diag.plan.ranking import OutcomePreview, Proposal, Ranking, rank
from diag.plan.settings import Settings

__all__ = [
    "Deciding",
    "DecidingActs",
    "Decision",
    "OutcomePreview",
    "Proposal",
    "Ranking",
    "Settings",
    "Way",
    "deciding",
    "rank",
    "way_to",
]
