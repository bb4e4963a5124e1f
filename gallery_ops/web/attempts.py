"""A form was sent: write it, or say what stands in the way; what was typed stays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.web.access import acting
from gallery_ops.web.middleware import Asked


@dataclass(frozen=True, slots=True)
class Deed:
    """What came of one button of a page; ``name`` is empty where nothing was sent."""

    name: str = ""
    is_done: bool = False
    trouble: Refused | None = None

    @property
    def status(self) -> int:
        """422 when something was refused."""
        return 422 if self.trouble else 200


def attempt(write: Callable[[], object], first: str = "") -> Refused | None:
    """Write, or say what stands in the way; ``first`` is the field of a number that is none.

    Raises Forbidden, which is a page of its own.
    """
    try:
        write()
    except Forbidden:
        raise
    except OutOfRange as no:
        return Refused.from_range(no, field=first)
    except Refused as no:
        return no
    return None


def deed_of(request: Asked, do: Callable[[str, dict[str, str]], str], first: str = "") -> Deed:
    """Carry out the deed that the pressed button names, and say the sentence that it gives back.

    ``do`` is told the name of the deed and all that was typed.
    """
    if request.method != "POST":
        return Deed()
    name = request.POST.get("deed", "")
    typed = {key: str(value) for key, value in request.POST.items()}
    trouble = attempt(lambda: messages.success(request, do(name, typed)), first)
    return Deed(name, trouble is None, trouble)


def typed_of(request: Asked, *names: str) -> dict[str, str]:
    """What was typed into these fields."""
    return {name: request.POST.get(name, "") for name in names}


def answer(
    request: Asked, template: str, trouble: Refused | None, context: Mapping[str, Any]
) -> HttpResponse:
    """The page with its form; 422 when something was refused."""
    known = {
        "here": "stock",
        "trouble": trouble,
        "at_field": trouble.fields if trouble else {},
        "may_correct": may(acting(request), "correct"),
    }
    return render(request, template, {**known, **context}, status=422 if trouble else 200)
