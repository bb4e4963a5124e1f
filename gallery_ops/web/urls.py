"""Which address shows which page?"""

from django.urls import URLPattern, URLResolver, path, re_path

from gallery_ops.web.pages import (
    alerts,
    cylinder_deeds,
    cylinders,
    day,
    devices,
    first_run,
    fleet,
    held,
    incident,
    measuring,
    offline,
    orders,
    people,
    set_aside,
    sign_in,
    stock,
    stock_deeds,
    suppliers,
    tank,
    weighing,
)
from gallery_ops.web.pages.add_tank_sheet import add_tank_sheet
from gallery_ops.web.pages.bottle import bottle_check, feeder_calibration
from gallery_ops.web.pages.buying import buy_list
from gallery_ops.web.pages.claim_photo import photo_file
from gallery_ops.web.pages.container import container_detail, container_labels
from gallery_ops.web.pages.cylinder_change import cylinder_change
from gallery_ops.web.pages.drawing import drawing_svg
from gallery_ops.web.pages.gate_limits import gate_limits
from gallery_ops.web.pages.handover import handover
from gallery_ops.web.pages.importing import fleet_import
from gallery_ops.web.pages.label import label_sheet
from gallery_ops.web.pages.layout import layout_brief, layout_build, layout_detail, own_layout
from gallery_ops.web.pages.look import choose_look
from gallery_ops.web.pages.materials import layout_materials
from gallery_ops.web.pages.own_layouts import own_layouts
from gallery_ops.web.pages.paper import paper_enter, round_paper
from gallery_ops.web.pages.photos import tank_photos
from gallery_ops.web.pages.reading_add import tank_reading_add
from gallery_ops.web.pages.receipts import goods_receipt
from gallery_ops.web.pages.report import forecast_report
from gallery_ops.web.pages.room_gas import room_gas
from gallery_ops.web.pages.round import round_close, round_list, round_skip, round_stop
from gallery_ops.web.pages.saved_outbox import saved_outbox
from gallery_ops.web.pages.scales import scale_list
from gallery_ops.web.pages.sums import calculator, calculator_list
from gallery_ops.web.pages.tank_animals import tank_animals
from gallery_ops.web.pages.tank_apart import tank_apart
from gallery_ops.web.pages.tank_back import tank_back
from gallery_ops.web.pages.tank_camera import tank_camera
from gallery_ops.web.pages.tank_changes import tank_changes
from gallery_ops.web.pages.tank_cost import tank_cost
from gallery_ops.web.pages.tank_entries import tank_entries
from gallery_ops.web.pages.tank_equipment import tank_equipment
from gallery_ops.web.pages.tank_form import tank_add, tank_change
from gallery_ops.web.pages.tank_gates import tank_gates
from gallery_ops.web.pages.tank_new_glass import tank_new_glass
from gallery_ops.web.pages.tank_ranges import tank_ranges
from gallery_ops.web.pages.tank_readings import tank_readings
from gallery_ops.web.pages.tank_start_up import tank_start_up
from gallery_ops.web.pages.tank_then import tank_then
from gallery_ops.web.pages.telephones import telephones
from gallery_ops.web.pages.unordered import supplier_receipt
from gallery_ops.web.pages.visitor import public_enter, public_photo, public_tank
from gallery_ops.web.pages.whatif import forecast_whatif

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
    path("tablets/begin/", devices.device_begin, name="device_begin"),
    path("tablets/enrol/", devices.device_enrol, name="device_enrol"),
    path("tablets/<uuid:uid>/revoke/", devices.device_revoke, name="device_revoke"),
    path("people/", people.people_list, name="people_list"),
    path("people/<uuid:uid>/pin/", people.person_pin, name="person_pin"),
    path("people/<uuid:uid>/leave/", people.person_leave, name="person_leave"),
    path("programs/", people.token_list, name="token_list"),
    path("programs/end/", people.token_revoke, name="token_revoke"),
    path("handover/", handover, name="handover"),
    path("rounds/", round_list, name="round_list"),
    path("rounds/<str:code>/", round_stop, name="round_stop"),
    path("rounds/<str:code>/skip/", round_skip, name="round_skip"),
    path("rounds/<str:code>/close/", round_close, name="round_close"),
    path("rounds/<str:code>/paper/", round_paper, name="round_paper"),
    path("rounds/<str:code>/paper/enter/", paper_enter, name="paper_enter"),
    path("", day.day_board, name="day_board"),
    path("tanks/", fleet.tank_wall, name="tank_wall"),
    path("tanks/find/", fleet.tank_find, name="tank_find"),
    path("tanks/import/", fleet_import, name="fleet_import"),
    path("tanks/add/", tank_add, name="tank_add"),
    path("tanks/add/sheet/", add_tank_sheet, name="add_tank_sheet"),
    path("tanks/camera/", tank_camera, name="tank_camera"),
    path("tanks/changes/", tank_changes, name="tank_changes"),
    path("tanks/cost/", tank_cost, name="tank_cost"),
    path("tanks/<str:code>/", tank.tank_detail, name="tank_detail"),
    path("tanks/<str:code>/then/", tank_then, name="tank_then"),
    path("tanks/<str:code>/photos/", tank_photos, name="tank_photos"),
    path("tanks/gates/figures/", gate_limits, name="gate_limits"),
    path("tanks/<str:code>/entries/", tank_entries, name="tank_entries"),
    path("tanks/<str:code>/gates/", tank_gates, name="tank_gates"),
    path("tanks/<str:code>/start-up/", tank_start_up, name="tank_start_up"),
    path("tanks/<str:code>/readings/", tank_readings, name="tank_readings"),
    path("tanks/<str:code>/equipment/", tank_equipment, name="tank_equipment"),
    path("tanks/<str:code>/ranges/", tank_ranges, name="tank_ranges"),
    path("tanks/<str:code>/readings/add/", tank_reading_add, name="tank_reading_add"),
    path("tanks/<str:code>/note/", tank.tank_note, name="tank_note"),
    path("tanks/<str:code>/bottle/", bottle_check, name="bottle_check"),
    path("tanks/<str:code>/feeder/", feeder_calibration, name="feeder_calibration"),
    path("tanks/<str:code>/change/", tank_change, name="tank_change"),
    path("tanks/<str:code>/animals/", tank_animals, name="tank_animals"),
    path("tanks/<str:code>/apart/", tank_apart, name="tank_apart"),
    path("tanks/<str:code>/back/", tank_back, name="tank_back"),
    path("tanks/<str:code>/glass/", tank_new_glass, name="tank_new_glass"),
    path("tanks/<str:code>/layout/", layout_detail, name="layout_detail"),
    path("tanks/<str:code>/brief/", layout_brief, name="layout_brief"),
    path("tanks/<str:code>/build/", layout_build, name="layout_build"),
    path("tanks/<str:code>/materials/", layout_materials, name="layout_materials"),
    path("layouts/own/", own_layouts, name="own_layouts"),
    path("layouts/own/one/", own_layout, name="own_layout"),
    path("stock/", stock.stock_forecast, name="stock_forecast"),
    path("stock/weigh/", weighing.weigh_list, name="weigh_list"),
    path("stock/scales/", scale_list, name="scale_list"),
    path("stock/buy/", buy_list, name="buy_list"),
    path("stock/what-if/", forecast_whatif, name="forecast_whatif"),
    path("stock/set-aside/", set_aside.reservation_list, name="reservation_list"),
    path("stock/money/", set_aside.month_budget, name="month_budget"),
    path("stock/report/", forecast_report, name="forecast_report"),
    path("stock/items/<slug:code>/order/", orders.item_order, name="item_order"),
    path("stock/items/<slug:code>/", stock.stock_item, name="stock_item"),
    path("containers/<str:code>/", container_detail, name="container_detail"),
    path("containers/<str:code>/weigh/", weighing.stock_weigh, name="stock_weigh"),
    path("containers/<str:code>/presses/", measuring.press_calibration, name="press_calibration"),
    path("containers/<str:code>/eye/", measuring.eye_count, name="eye_count"),
    path(
        "containers/<str:code>/pressure/", measuring.container_pressure, name="container_pressure"
    ),
    path("containers/<str:code>/count/", stock_deeds.container_count, name="container_count"),
    path("containers/<str:code>/decant/", stock_deeds.container_decant, name="container_decant"),
    path("containers/<str:code>/state/", stock_deeds.container_state, name="container_state"),
    path("containers/<str:code>/tare/", stock_deeds.container_retare, name="container_retare"),
    path("cylinders/", cylinders.cylinder_list, name="cylinder_list"),
    path("cylinders/add/", cylinder_deeds.cylinder_add, name="cylinder_add"),
    path("cylinders/<str:code>/", cylinders.cylinder_detail, name="cylinder_detail"),
    path("cylinders/<str:code>/change/", cylinder_change, name="cylinder_change"),
    path("cylinders/<str:code>/refill/", cylinder_deeds.cylinder_refill, name="cylinder_refill"),
    path("cylinders/<str:code>/place/", cylinder_deeds.cylinder_move, name="cylinder_move"),
    path("cylinders/<str:code>/edit/", cylinder_deeds.cylinder_edit, name="cylinder_edit"),
    path("cylinders/<str:code>/mark/", cylinder_deeds.cylinder_mark, name="cylinder_mark"),
    path("cylinders/<str:code>/retire/", cylinder_deeds.cylinder_retire, name="cylinder_retire"),
    path("rooms/<uuid:uid>/gas/", room_gas, name="room_gas"),
    path("orders/", orders.order_page_list, name="order_list"),
    path("orders/<uuid:uid>/", orders.order_detail, name="order_detail"),
    path("photos/<uuid:uid>/", photo_file, name="photo_file"),
    path("orders/<uuid:uid>/letter/", orders.order_letter, name="order_letter"),
    path("orders/<uuid:uid>/receive/", goods_receipt, name="goods_receipt"),
    path("suppliers/", suppliers.supplier_list, name="supplier_list"),
    path("suppliers/add/", suppliers.supplier_add, name="supplier_add"),
    path("suppliers/<uuid:uid>/", suppliers.supplier_detail, name="supplier_detail"),
    path("suppliers/<uuid:uid>/receive/", supplier_receipt, name="supplier_receipt"),
    path("suppliers/<uuid:uid>/change/", suppliers.supplier_change, name="supplier_change"),
    path("held/", held.held_list, name="held_list"),
    path("held/file/", saved_outbox, name="saved_outbox"),
    path("held/<uuid:uid>/", held.held_settle, name="held_settle"),
    path("alerts/", alerts.alert_list, name="alert_list"),
    path("alerts/<uuid:uid>/", alerts.alert_detail, name="alert_detail"),
    path("alerts/<uuid:uid>/answer/", alerts.alert_answer, name="alert_answer"),
    path("alerts/<uuid:uid>/found/", alerts.alert_found, name="alert_found"),
    path("sums/", calculator_list, name="calculator_list"),
    path("sums/<slug:key>/", calculator, name="calculator"),
    path("labels/", label_sheet, name="label_sheet"),
    path("labels/containers/", container_labels, name="container_labels"),
    path("v/", public_enter, name="public_enter"),
    path("v/<str:code>/photo/<uuid:uid>/", public_photo, name="public_photo"),
    path("v/<path:code>/", public_tank, name="public_tank"),
    path("look/", choose_look, name="choose_look"),
    path("first-minute/", incident.first_minute, name="first_minute"),
    path("first-minute/print/", incident.first_minute_print, name="first_minute_print"),
    path("first-minute/<slug:key>/", incident.emergency_card, name="emergency_card"),
    path("incidents/", incident.incident_list, name="incident_list"),
    path("incidents/<uuid:uid>/", incident.incident, name="incident"),
    path("telephones/", telephones, name="telephones"),
]
