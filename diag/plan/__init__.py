"""What to ask and test next, and what it costs from where the vehicle stands now."""

from diag.plan.access import Way, way_to
from diag.plan.deciding import Deciding, DecidingActs, Decision, deciding
from diag.plan.locks import Locked
from diag.plan.proposal import OutcomePreview, Proposal
from diag.plan.ranking import Ranking, rank
from diag.plan.settings import Settings
from diag.plan.stop import Stop

__all__ = [
    "Deciding",
    "DecidingActs",
    "Decision",
    "Locked",
    "OutcomePreview",
    "Proposal",
    "Ranking",
    "Settings",
    "Stop",
    "Way",
    "deciding",
    "rank",
    "way_to",
]
