"""The page behind the code on a label: another building, without sign-in, cookie or script.

Its templates get the values of the allow-list in ``overview/spec_page.py`` and nothing else: they
are rendered without the request, so that no person, session or staff frame can reach them.
"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.cache import get_conditional_response, patch_cache_control, set_response_etag
from django.utils.http import urlencode
from django.utils.translation import get_supported_language_variant, override
from django.utils.translation.trans_real import parse_accept_lang_header
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from gallery_ops.drawing import Detail, layers_svg
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.values.codes import parse_code, printed
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.overview.drawings import address
from gallery_ops.overview.spec_of import gallery_name, picture_of, spec_page, supported
from gallery_ops.overview.spec_page import SpecPage, Work
from gallery_ops.web import words

KEPT_S = 60
"""How long a cache may show a page [s]: a tank put to rest is at rest a minute later."""
SHOWN_TYPED = 40
LANGUAGE_NAMES = dict(settings.LANGUAGES)


@require_safe
@gzip_page
def public_tank(request: HttpRequest, code: str) -> HttpResponse:
    """What is this, who made it, how old and how big is it, could I?"""
    wanted = _wanted(request)
    try:
        stored = parse_code(code)
        if stored != code:
            return redirect(f"{reverse('public_tank', args=[stored])}{_asking(request)}")
        page = spec_page(stored, clock.now(), wanted)
    except OutOfRange:
        return _ask_for_code(request, wanted, typed=code, trouble="mistyped")
    except Unknown:
        return _ask_for_code(request, wanted, typed=code, trouble="unknown")
    with override(page.tongue):
        words.use_mark("," if page.tongue == "de" else page.decimal_mark)
        html = render_to_string("web/visitor/tank.html", _context(page))
    return _answer(request, html, page.tongue)


@require_safe
def public_photo(request: HttpRequest, code: str, uid: UUID) -> HttpResponse:
    """A photo while the page behind the code shows it: released by a person, never by itself."""
    try:
        data, kind = picture_of(parse_code(code), uid, clock.now())
    except (OutOfRange, Unknown):
        return HttpResponse(status=404)
    answer = HttpResponse(data, content_type=kind)
    answer["X-Content-Type-Options"] = "nosniff"
    patch_cache_control(answer, public=True, max_age=KEPT_S)
    return _unless_known(request, answer)


@require_safe
@gzip_page
def public_enter(request: HttpRequest) -> HttpResponse:
    """A field for the short code beside the square."""
    wanted = _wanted(request)
    typed = request.GET.get("code", "")
    if not typed.strip():
        return _ask_for_code(request, wanted)
    try:
        stored = parse_code(typed)
    except OutOfRange:
        return _ask_for_code(request, wanted, typed=typed, trouble="mistyped")
    return redirect(f"{reverse('public_tank', args=[stored])}{_asking(request)}")


def _ask_for_code(
    request: HttpRequest, wanted: str, *, typed: str = "", trouble: str = ""
) -> HttpResponse:
    tongue = wanted or supported(settings.LANGUAGE_CODE)
    with override(tongue):
        context = {
            **_frame(tongue, gallery_name()),
            "typed": typed[:SHOWN_TYPED],
            "trouble": trouble,
        }
        html = render_to_string("web/visitor/enter.html", context)
    return _answer(request, html, tongue, status=404 if trouble else 200)


def _context(page: SpecPage) -> dict[str, Any]:
    language = supported(page.language)
    context = _frame(page.tongue, page.showroom) | {
        "page": page,
        "own": language,
        "own_name": LANGUAGE_NAMES[language],
        "is_foreign": language != page.tongue,
        "printed": printed(page.code),
        "come_back": words.date_in(page.tongue, page.come_back_on) if page.come_back_on else "",
        "next_month": (
            words.date_in(page.tongue, page.next.on, "yMMMM") if page.next and page.next.on else ""
        ),
    }
    return context | (_pictures(page, page.work) if page.work is not None else {})


def _pictures(page: SpecPage, work: Work) -> dict[str, Any]:
    return {
        "hero": address(work.shape),
        "sketch": address(work.shape, numbered=True) if work.plants else "",
        "ages": [(day, address(shape, Detail.WALL)) for day, shape in work.ages],
        "photos": [
            (shown, words.date_in(page.tongue, shown.taken_on, "yMMMd")) for shown in work.photos
        ],
        "section": layers_svg([(row.front_mm, row.back_mm) for row in work.layers]),
    }


def _frame(tongue: str, showroom: str) -> dict[str, Any]:
    return {
        "tongue": tongue,
        "showroom_name": showroom or "Gallery Ops",
        "languages": [
            {"tag": tag, "name": name, "href": f"?lang={tag}", "is_here": tag == tongue}
            for tag, name in settings.LANGUAGES
        ],
    }


def _answer(request: HttpRequest, html: str, tongue: str, *, status: int = 200) -> HttpResponse:
    """The page, which any cache on the way may keep for a minute."""
    answer = HttpResponse(html, status=status)
    answer["Content-Language"] = tongue
    answer["Vary"] = "Accept-Language"
    patch_cache_control(answer, public=True, max_age=KEPT_S)
    if status != 200:
        set_response_etag(answer)
        return answer
    return _unless_known(request, answer)


def _unless_known(request: HttpRequest, answer: HttpResponse) -> HttpResponse:
    """Only that it is still the same, for whoever has it already."""
    set_response_etag(answer)
    done = get_conditional_response(request, etag=answer["ETag"], response=answer)
    return done if isinstance(done, HttpResponse) else answer


def _wanted(request: HttpRequest) -> str:
    """The language asked for by the address, else by the device; nothing when neither is ours."""
    asked = [request.GET.get("lang", "")]
    asked += [
        tag for tag, _ in parse_accept_lang_header(request.headers.get("Accept-Language", ""))
    ]
    for tag in asked:
        try:
            return str(get_supported_language_variant(tag))
        except LookupError:
            continue
    return ""


def _asking(request: HttpRequest) -> str:
    lang = request.GET.get("lang", "")
    return f"?{urlencode({'lang': lang})}" if lang in LANGUAGE_NAMES else ""
