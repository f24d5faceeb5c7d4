"""The one orchestrator: a design in, a plan out."""

from sunpantry.plan.make import make_plan
from sunpantry.plan.questions import read_plan_design
from sunpantry.plan.types import Plan, PlanPart, SearchReport, Uncertain

__all__ = ["Plan", "PlanPart", "SearchReport", "Uncertain", "make_plan", "read_plan_design"]
