"""What can go wrong with a piece, what stays lit, and how likely the show goes on.

A :class:`~lampwright.layout.Layout` goes in; faults with the pixels that each one takes, their ranking, and whether
the brief's demand holds come out.
"""

from lampwright.faults.arrangements import Arrangement, cheapest_enough, compare_arrangements
from lampwright.faults.cost import Outage
from lampwright.faults.every import embody
from lampwright.faults.learned import Learned, learned_rates, what_was_learned
from lampwright.faults.odds import Odds, work_out_odds
from lampwright.faults.picture import draw_outage
from lampwright.faults.repair import Repair, repair_languages, repairs
from lampwright.faults.shares import shares_lit
from lampwright.faults.spares import CONFIDENCE, Spare, pack_case, plan_spares
from lampwright.faults.starts import Starts, judge_starts, switch_on
from lampwright.faults.suffered import Suffered, suffer, worst_first
from lampwright.faults.survey import Survey, judge_odds, judge_survival, survey

__all__ = [
    "CONFIDENCE",
    "Arrangement",
    "Learned",
    "Odds",
    "Outage",
    "Repair",
    "Spare",
    "Starts",
    "Suffered",
    "Survey",
    "cheapest_enough",
    "compare_arrangements",
    "draw_outage",
    "embody",
    "judge_odds",
    "judge_starts",
    "judge_survival",
    "learned_rates",
    "pack_case",
    "plan_spares",
    "repair_languages",
    "repairs",
    "shares_lit",
    "suffer",
    "survey",
    "switch_on",
    "what_was_learned",
    "work_out_odds",
    "worst_first",
]
