"""From a brief to first designs: what to build it of, at which cost, with which odds.

A brief file and the maker's lists come in; candidates come out, each a complete piece file that passed its sign-off,
or the demand that is in the way.
"""

from lampwright.propose.build import Setting
from lampwright.propose.choosing import free_path, piece_file_name, write_candidate
from lampwright.propose.finalist import Candidate
from lampwright.propose.keys import brief_keys_of
from lampwright.propose.picture import draw_candidates, draw_within
from lampwright.propose.stage import Proposal, members_of, propose
from lampwright.propose.telling import BUILT_OF, COMES_TO, HELD_BY, SEEN, Step, advice, covered, feeds, steps_up
from lampwright.propose.unmet import Edit
from lampwright.propose.wish import Asked, brief_from_text, is_brief, read_brief

__all__ = [
    "BUILT_OF",
    "COMES_TO",
    "HELD_BY",
    "SEEN",
    "Asked",
    "Candidate",
    "Edit",
    "Proposal",
    "Setting",
    "Step",
    "advice",
    "brief_from_text",
    "brief_keys_of",
    "covered",
    "draw_candidates",
    "draw_within",
    "feeds",
    "free_path",
    "is_brief",
    "members_of",
    "piece_file_name",
    "propose",
    "read_brief",
    "steps_up",
    "write_candidate",
]
