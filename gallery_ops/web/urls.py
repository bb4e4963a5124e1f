"""Which address shows which page?"""

from django.urls import URLPattern, URLResolver, path, re_path

from gallery_ops.web.pages import (
    alerts,
    day,
    devices,
    first_run,
    fleet,
    incident,
    offline,
    people,
    sign_in,
    stock,
    tank,
    weighing,
)
from gallery_ops.web.pages.container import container_detail, container_labels
from gallery_ops.web.pages.drawing import drawing_svg
from gallery_ops.web.pages.importing import fleet_import
from gallery_ops.web.pages.label import label_sheet
from gallery_ops.web.pages.look import choose_look
from gallery_ops.web.pages.own_layouts import own_layouts
from gallery_ops.web.pages.round import round_close, round_list, round_skip, round_stop
from gallery_ops.web.pages.tank_form import tank_add, tank_change
from gallery_ops.web.pages.visitor import public_enter, public_tank

urlpatterns: list[URLPattern | URLResolver] = [
    re_path(r"^drawings/(?P<name>[0-9a-f]{20})\.svg$", drawing_svg, name="drawing"),
    path("sw.js", offline.service_worker, name="service_worker"),
    path("app.webmanifest", offline.app_manifest, name="app_manifest"),
    path("no-network/", offline.no_network, name="no_network"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-in/tiles/", sign_in.tile_sign_in, name="tile_sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("first-run/", first_run.first_run, name="first_run"),
    path("tablets/", devices.device_list, name="device_list"),
    path("tablets/enrol/", devices.device_enrol, name="device_enrol"),
    path("tablets/<uuid:uid>/revoke/", devices.device_revoke, name="device_revoke"),
    path("people/", people.people_list, name="people_list"),
    path("people/<uuid:uid>/pin/", people.person_pin, name="person_pin"),
    path("people/<uuid:uid>/leave/", people.person_leave, name="person_leave"),
    path("programs/", people.token_list, name="token_list"),
    path("programs/end/", people.token_revoke, name="token_revoke"),
    path("rounds/", round_list, name="round_list"),
    path("rounds/<str:code>/", round_stop, name="round_stop"),
    path("rounds/<str:code>/skip/", round_skip, name="round_skip"),
    path("rounds/<str:code>/close/", round_close, name="round_close"),
    path("", day.day_board, name="day_board"),
    path("tanks/", fleet.tank_wall, name="tank_wall"),
    path("tanks/find/", fleet.tank_find, name="tank_find"),
    path("tanks/import/", fleet_import, name="fleet_import"),
    path("tanks/add/", tank_add, name="tank_add"),
    path("tanks/<str:code>/", tank.tank_detail, name="tank_detail"),
    path("tanks/<str:code>/note/", tank.tank_note, name="tank_note"),
    path("tanks/<str:code>/change/", tank_change, name="tank_change"),
    path("layouts/own/", own_layouts, name="own_layouts"),
    path("stock/", stock.stock_forecast, name="stock_forecast"),
    path("stock/weigh/", weighing.weigh_list, name="weigh_list"),
    path("stock/items/<slug:code>/", stock.stock_item, name="stock_item"),
    path("containers/<str:code>/", container_detail, name="container_detail"),
    path("containers/<str:code>/weigh/", weighing.stock_weigh, name="stock_weigh"),
    path("alerts/", alerts.alert_list, name="alert_list"),
    path("alerts/<uuid:uid>/", alerts.alert_detail, name="alert_detail"),
    path("alerts/<uuid:uid>/answer/", alerts.alert_answer, name="alert_answer"),
    path("labels/", label_sheet, name="label_sheet"),
    path("labels/containers/", container_labels, name="container_labels"),
    path("v/", public_enter, name="public_enter"),
    path("v/<path:code>/", public_tank, name="public_tank"),
    path("look/", choose_look, name="choose_look"),
    path("first-minute/", incident.first_minute, name="first_minute"),
    path("first-minute/print/", incident.first_minute_print, name="first_minute_print"),
    path("first-minute/<slug:key>/", incident.emergency_card, name="emergency_card"),
]
