"""Who does what when, and what was done."""

from maintenance.models.action import Action, Verdict
from maintenance.models.importing import ImportRun
from maintenance.models.observation import Observation
from maintenance.models.rota import Shift
from maintenance.models.round import Round, RoundKind, Stop
from maintenance.models.template import (
    Completion,
    DueTask,
    Scope,
    Skip,
    SkipReason,
    TaskTemplate,
)

__all__ = [
    "Action",
    "Completion",
    "DueTask",
    "ImportRun",
    "Observation",
    "Round",
    "RoundKind",
    "Scope",
    "Shift",
    "Skip",
    "SkipReason",
    "Stop",
    "TaskTemplate",
    "Verdict",
]
