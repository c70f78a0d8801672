"""From exposure and pressure to what is built: schedule, order of work, checks, bare wrap, wetting and drying."""

from exposure.detail.circumstances import Circumstances, questions
from exposure.detail.question import Question
from exposure.detail.schedule import detail_schedule
from exposure.detail.schedule_parts import RuleResult, Schedule, ScheduleLine, Step

__all__ = [
    "Circumstances",
    "Question",
    "RuleResult",
    "Schedule",
    "ScheduleLine",
    "Step",
    "detail_schedule",
    "questions",
]
