"""Which address shows which page?"""

from django.urls import URLPattern, URLResolver, path, re_path

from gallery_ops.web.pages.drawing import drawing_svg
from gallery_ops.web.pages.look import choose_look

urlpatterns: list[URLPattern | URLResolver] = [
    re_path(r"^drawings/(?P<name>[0-9a-f]{20})\.svg$", drawing_svg, name="drawing"),
    path("look/", choose_look, name="choose_look"),
]
