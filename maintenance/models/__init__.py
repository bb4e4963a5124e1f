"""Who does what when, and what was done."""

from maintenance.models.action import Action, Verdict
from maintenance.models.handover import HandoverLine, HandoverRead
from maintenance.models.importing import ImportRun
from maintenance.models.incident import Incident, IncidentStep
from maintenance.models.observation import Observation
from maintenance.models.rota import Shift
from maintenance.models.round import Round, RoundKind, Stop
from maintenance.models.template import (
    Completion,
    CompletionConfirmed,
    DueTask,
    Scope,
    Skip,
    SkipReason,
    TaskTemplate,
)

__all__ = [
    "Action",
    "Completion",
    "CompletionConfirmed",
    "DueTask",
    "HandoverLine",
    "HandoverRead",
    "ImportRun",
    "Incident",
    "IncidentStep",
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
