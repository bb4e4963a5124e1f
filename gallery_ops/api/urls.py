"""Which address answers with which JSON?"""

from django.urls import URLPattern, URLResolver, path, re_path
from django.views.decorators.gzip import gzip_page

from gallery_ops.api.views import (
    emergencies,
    nothing,
    orders,
    outbox,
    photos,
    rounds,
    stock,
    tablet,
    tanks,
    work,
)
from gallery_ops.api.views.described import SchemaView

urlpatterns: list[URLPattern | URLResolver] = [
    path("tanks", tanks.TanksView.as_view(), name="api_tanks"),
    path("tanks/<str:code>", tanks.TankView.as_view(), name="api_tank"),
    path("layouts", tanks.LayoutsView.as_view(), name="api_layouts"),
    path("items", stock.ItemsView.as_view(), name="api_items"),
    path("items/<str:code>", stock.ItemView.as_view(), name="api_item"),
    path("containers", stock.ContainersView.as_view(), name="api_containers"),
    path("containers/<str:code>", stock.ContainerView.as_view(), name="api_container"),
    path("forecasts", stock.ForecastsView.as_view(), name="api_forecasts"),
    path("suppliers", orders.SuppliersView.as_view(), name="api_suppliers"),
    path("suppliers/<uuid:uid>", orders.SupplierView.as_view(), name="api_supplier"),
    path("orders", orders.OrdersView.as_view(), name="api_orders"),
    path("orders/<uuid:uid>", orders.OrderView.as_view(), name="api_order"),
    path("orders/<uuid:uid>/lines", orders.OrderLinesView.as_view(), name="api_order_lines"),
    path("receipts", orders.ReceiptsView.as_view(), name="api_receipts"),
    path("receipts/<uuid:uid>", orders.ReceiptView.as_view(), name="api_receipt"),
    path("alerts", work.AlertsView.as_view(), name="api_alerts"),
    path("alerts/<uuid:uid>", work.AlertView.as_view(), name="api_alert"),
    path(
        "alerts/<uuid:uid>/acknowledge",
        work.AcknowledgeView.as_view(),
        name="api_alert_acknowledge",
    ),
    path("due-tasks", work.DueTasksView.as_view(), name="api_due_tasks"),
    path("due-tasks/<uuid:uid>", work.DueTaskView.as_view(), name="api_due_task"),
    path("rounds", rounds.RoundsView.as_view(), name="api_rounds"),
    path("rounds/<uuid:uid>", rounds.RoundView.as_view(), name="api_round"),
    path("rounds/<uuid:uid>/pack", gzip_page(rounds.RoundPackView.as_view()), name="api_pack"),
    path("emergencies", emergencies.EmergenciesView.as_view(), name="api_emergencies"),
    path("photos/<str:sha256>", photos.PhotoBytesView.as_view(), name="api_photo_bytes"),
    path("outbox", outbox.OutboxView.as_view(), name="api_outbox"),
    path("tablet/sign-in", tablet.TabletSignInView.as_view(), name="api_tablet_sign_in"),
    path("tablet/tries", tablet.TabletTriesView.as_view(), name="api_tablet_tries"),
    path("schema/", SchemaView.as_view(), name="api_schema"),
    re_path(r"", nothing.NothingView.as_view(), name="api_nothing"),
]
