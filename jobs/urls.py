"""Addresses of the registers' pages."""

from django.urls import path

from jobs.views import (
    appliances,
    charge_estimate,
    customers,
    cylinder_records,
    cylinders,
    instruments,
    pressure_checks,
    properties,
    recovery_machines,
    shipping_papers,
    stock,
    technicians,
)

urlpatterns = [
    path("customers/", customers.CustomerListView.as_view(), name="customer-list"),
    path("customers/add/", customers.CustomerAddView.as_view(), name="customer-add"),
    path("customers/<int:pk>/", customers.CustomerDetailView.as_view(), name="customer-detail"),
    path("customers/<int:pk>/change/", customers.CustomerChangeView.as_view(), name="customer-change"),
    path("customers/<int:customer_pk>/sites/add/", customers.SiteAddView.as_view(), name="site-add"),
    path("sites/<int:pk>/", customers.SiteDetailView.as_view(), name="site-detail"),
    path("sites/<int:pk>/change/", customers.SiteChangeView.as_view(), name="site-change"),
    path("sites/<int:site_pk>/appliances/add/", appliances.ApplianceAddView.as_view(), name="appliance-add"),
    path("appliances/", appliances.ApplianceListView.as_view(), name="appliance-list"),
    path("appliances/<int:pk>/change/", appliances.ApplianceChangeView.as_view(), name="appliance-change"),
    path("refrigerant-cautions/", appliances.RefrigerantCautionsView.as_view(), name="refrigerant-cautions"),
    path("technicians/", technicians.TechnicianListView.as_view(), name="technician-list"),
    path("technicians/add/", technicians.TechnicianAddView.as_view(), name="technician-add"),
    path("technicians/<int:pk>/", technicians.TechnicianDetailView.as_view(), name="technician-detail"),
    path(
        "technicians/<int:pk>/change/", technicians.TechnicianChangeView.as_view(), name="technician-change"
    ),
    path(
        "technicians/<int:technician_pk>/certifications/add/",
        technicians.CertificationAddView.as_view(),
        name="certification-add",
    ),
    path(
        "certifications/<int:pk>/renew/",
        technicians.CertificationRenewView.as_view(),
        name="certification-renew",
    ),
    path(
        "technicians/<int:technician_pk>/sign-in/",
        technicians.TechnicianSignInView.as_view(),
        name="technician-sign-in",
    ),
    path("cylinders/", cylinders.CylinderListView.as_view(), name="cylinder-list"),
    path("cylinders/add/", cylinders.CylinderAddView.as_view(), name="cylinder-add"),
    path("cylinders/labels/", stock.CylinderLabelsView.as_view(), name="cylinder-labels"),
    path("cylinders/reconciliation/", stock.ReconciliationView.as_view(), name="reconciliation"),
    path("cylinders/stock/", stock.StockListView.as_view(), name="stock-list"),
    path("cylinders/<int:pk>/", cylinders.CylinderDetailView.as_view(), name="cylinder-detail"),
    path("cylinders/<int:pk>/change/", cylinders.CylinderChangeView.as_view(), name="cylinder-change"),
    path(
        "cylinders/<int:cylinder_pk>/purchases/add/", cylinders.PurchaseAddView.as_view(), name="purchase-add"
    ),
    path(
        "cylinders/<int:cylinder_pk>/shipments/add/", cylinders.ShipmentAddView.as_view(), name="shipment-add"
    ),
    path(
        "cylinders/<int:cylinder_pk>/pressure-check/",
        pressure_checks.PressureCheckView.as_view(),
        name="pressure-check",
    ),
    path("properties/", properties.SaturationView.as_view(), name="properties"),
    path("properties/chart/", properties.PressureChartView.as_view(), name="pressure-chart"),
    path("properties/chart.pdf", properties.PressureChartPdfView.as_view(), name="pressure-chart-pdf"),
    path("properties/full-charge/", charge_estimate.ChargeEstimateView.as_view(), name="charge-estimate"),
    path("properties/residual/", properties.ResidualView.as_view(), name="residual"),
    path("properties/cylinder/", properties.CylinderPressureView.as_view(), name="cylinder-pressure"),
    path("instruments/", instruments.InstrumentListView.as_view(), name="instrument-list"),
    path("instruments/add/", instruments.InstrumentAddView.as_view(), name="instrument-add"),
    path("instruments/<int:pk>/", instruments.InstrumentDetailView.as_view(), name="instrument-detail"),
    path(
        "instruments/<int:pk>/change/", instruments.InstrumentChangeView.as_view(), name="instrument-change"
    ),
    path(
        "instruments/<int:instrument_pk>/calibrations/add/",
        instruments.CalibrationAddView.as_view(),
        name="calibration-add",
    ),
    path(
        "calibrations/<int:pk>/correct/",
        instruments.CalibrationCorrectView.as_view(),
        name="calibration-correct",
    ),
    path(
        "recovery-machines/",
        recovery_machines.RecoveryMachineListView.as_view(),
        name="recovery-machine-list",
    ),
    path(
        "recovery-machines/add/",
        recovery_machines.RecoveryMachineAddView.as_view(),
        name="recovery-machine-add",
    ),
    path(
        "recovery-machines/<int:pk>/",
        recovery_machines.RecoveryMachineDetailView.as_view(),
        name="recovery-machine-detail",
    ),
    path(
        "recovery-machines/<int:pk>/change/",
        recovery_machines.RecoveryMachineChangeView.as_view(),
        name="recovery-machine-change",
    ),
    path("cylinders/<int:cylinder_pk>/sales/add/", cylinders.SaleAddView.as_view(), name="sale-add"),
    path(
        "cylinders/<int:cylinder_pk>/moves/add/",
        cylinder_records.MoveAddView.as_view(),
        name="cylinder-move-add",
    ),
    path(
        "cylinders/<int:cylinder_pk>/weighings/add/",
        cylinder_records.WeighingAddView.as_view(),
        name="cylinder-weighing-add",
    ),
    path(
        "cylinders/<int:cylinder_pk>/contaminations/add/",
        cylinder_records.ContaminationAddView.as_view(),
        name="contamination-add",
    ),
    path(
        "cylinders/<int:cylinder_pk>/heel-removals/add/",
        cylinder_records.HeelRemovalAddView.as_view(),
        name="heel-removal-add",
    ),
    path(
        "cylinders/<int:cylinder_pk>/requalification-tests/add/",
        cylinder_records.RequalificationTestAddView.as_view(),
        name="requalification-test-add",
    ),
    path(
        "cylinders/<int:cylinder_pk>/requalification-periods/add/",
        cylinder_records.RequalificationPeriodAddView.as_view(),
        name="requalification-period-add",
    ),
    path(
        "stock-movements/<int:pk>/shipping-paper.pdf",
        shipping_papers.ShippingPaperView.as_view(),
        name="shipping-paper",
    ),
    path(
        "stock-movements/<int:pk>/receipts/add/",
        cylinder_records.ReceiptAddView.as_view(),
        name="shipment-receipt-add",
    ),
    path(
        "stock-movements/<int:pk>/reverse/", cylinder_records.ReversalAddView.as_view(), name="stock-reverse"
    ),
    path(
        "cylinder-records/<str:kind>/<int:pk>/withdraw/",
        cylinder_records.WithdrawalAddView.as_view(),
        name="withdrawal-add",
    ),
    path(
        "shipment-receipts/<int:pk>/difference/add/",
        cylinder_records.ReceiptDifferenceAddView.as_view(),
        name="receipt-difference-add",
    ),
    path("weighings/<int:pk>/adjust/", cylinder_records.AdjustmentAddView.as_view(), name="stock-adjust"),
]
