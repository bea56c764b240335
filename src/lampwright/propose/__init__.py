"""From a brief to first designs: what to build it of, at which cost, with which odds.

A brief file and the maker's lists come in; candidates come out, each a complete piece file that passed its sign-off,
or the demand that is in the way.
"""

from lampwright.propose.build import Setting
from lampwright.propose.finalist import Candidate
from lampwright.propose.picture import draw_candidates
from lampwright.propose.stage import Proposal, propose
from lampwright.propose.wish import read_brief

__all__ = ["Candidate", "Proposal", "Setting", "draw_candidates", "propose", "read_brief"]
